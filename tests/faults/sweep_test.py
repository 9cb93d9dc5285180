# SPDX-License-Identifier: GPL-3.0-or-later
"""Lets each system call fail at its 1st, 2nd, 3rd … time, once or from then on, until a run no longer meets the fault.

EVENWALL_LONG=1: all commands and calls (up to an hour on a busy machine); otherwise, in a normal test run, only those that write.
"""
import collections
import json
import os
import re
import shutil
import tempfile
import unittest
from concurrent.futures import ThreadPoolExecutor

from bench import OLD, SANITIZED, SCENARIO, FaultCase, evenwall, injected

LONG = "EVENWALL_LONG" in os.environ
ONLY = os.environ.get("EVENWALL_CALLS", "").split()  # of the long run
COMMANDS = os.environ.get("EVENWALL_COMMANDS", "measure append solve simulate stream" if LONG else "measure append").split()
ERRORS = {"openat": ("EACCES", "EMFILE"), "read": ("EIO",), "pread64": ("EIO",), "write": ("ENOSPC", "EIO", "EPIPE"), "fsync": ("EIO", "ENOSPC"),
          "close": ("EIO", "ENOSPC"), "rename": ("EACCES",), "newfstatat": ("EACCES",), "fchmod": ("EPERM",), "flock": ("ENOLCK",), "mkdir": ("ENOSPC",),
          "linkat": ("EACCES",), "renameat2": ("EINVAL",), "ftruncate": ("EIO",), "getrandom": ("ENOSYS",), "unlink": ("EACCES",), "getdents64": ("EIO",), "lseek": ("EIO",), "mmap": ("ENOMEM",),
          "brk": ("0",), "munmap": ("ENOMEM",), "mprotect": ("ENOMEM",), "clone3": ("EAGAIN",), "clone": ("EAGAIN",), "socketpair": ("EMFILE",),
          "sendto": ("ECONNRESET",), "recvfrom": ("ECONNRESET",), "wait4": ("ECHILD",), "rt_sigaction": ("EINVAL",), "readlink": ("EIO",),
          "prctl": ("EINVAL",), "landlock_create_ruleset": ("ENOSYS",), "landlock_restrict_self": ("E2BIG",)}
# The kernel reports a failed brk by the value that it returns, never by an error.
QUICK = ("write", "fsync", "rename", "linkat", "fchmod", "flock", "openat", "close")
# strace counts separately for each thread, and a run that fails in the loader never starts a second one. The calls of decoding fail in
# these commands, in one process that gets no threads; the calls of writing fail in `measure` and `append`, which have two processes.
PRINTED = ("solve", "stream")
NO_THREADS = ("clone:error=EAGAIN", "clone3:error=EAGAIN")
FIRST_CALL = "fcntl"  # the first call of main; a run that ends before it has failed in the loader
# A sanitizer's runtime writes into a pipe to test whether memory can be read (UBSan at each new dynamic type). If that fails in an
# unexpected way, it ends the process with status 0. The program itself writes into no pipe here: its outputs are files.
RUNTIME_CALL = r"\bwrite\(\d+<pipe:.*INJECTED"
TORN = '{"schema":"evenwall/reading/1"}\n{"torn'
TINY = {**SCENARIO, "record": {"bands": [{"band": "left", "duration_s": 0.4}]}, "steps": [{"tilt_deg": 0}]}
MOST = 3000  # occurrences; a sweep that does not end by then is a failure


class Sweep(FaultCase):
    """Tests commands under faults of system calls."""

    def command(self, name, place):
        out = os.path.join(place, "out")
        return {"measure": ["measure", "--json", "--jobs", 1, self.capture, "-o", out],
                "append": ["measure", "--json", "--jobs", 1, self.capture, "--append", out],
                "solve": ["solve", "--json", "--jobs", 1, self.session],
                "simulate": ["simulate", "--scenario", self.shared / "tiny.json", "-o", os.path.join(place, "made")],
                "stream": ["measure", "--json", "--jobs", 1, "-"]}[name]

    def one(self, name, fault):
        """Runs the command once. Returns (whether the fault was met, status or None if it hit the runtime, a description of what is wrong or None)."""
        place = tempfile.mkdtemp(dir=self.folder)
        old = TORN if name == "append" else OLD
        with open(os.path.join(place, "out"), "w") as out:
            out.write(old)
        trace = os.path.join(place, "trace")
        call = fault.split(":")[0]
        wrap = injected(fault, *(other for other in NO_THREADS if name in PRINTED and not call.startswith("clone")))
        wrap[wrap.index("/dev/null")] = trace
        wrap[wrap.index("-e") + 1] += "," + FIRST_CALL  # traced, but not made to fail
        if SANITIZED:
            wrap.insert(1, "-y")  # shows whether a descriptor is a pipe or a file
        run = evenwall(*self.command(name, place), wrap=wrap, stdin=self.good if name == "stream" else b"", limit_s=60)
        with open(trace, errors="replace") as log:
            text = log.read()
            met, began = re.search(rf"\b{call}\b.*INJECTED", text) is not None, re.search(rf"{FIRST_CALL}\(0(<[^>]*>)?, F_GETFD\)", text)
        os.unlink(trace)
        if SANITIZED and re.search(RUNTIME_CALL, text):
            shutil.rmtree(place)
            return met, None, None
        wrong = self.wrong(name, place, old, run, call) if began or run.status == 0 else None
        shutil.rmtree(place)
        return met, run.status, wrong and f"{name} {fault}: {wrong}: status {run.status}, {run.err!r}"

    def wrong(self, name, place, old, run, call):
        if run.status not in (0, 1):
            return "a wrong exit status"
        if run.status == 1 and not re.fullmatch(r"(evenwall: [^\n]+\n)+", run.err) and call != "write":
            return "a message that is not from the program"
        strays = [f for folder in os.walk(place) for f in folder[2] if ".tmp-" in f]
        if strays and call != "unlink":
            return f"temporary files remain: {strays}"
        with open(os.path.join(place, "out")) as out:
            text = out.read()
        if name == "append":
            return self.wrong_lines(text, old, run)
        if name in PRINTED and text == old:
            return None if call == "write" else self.wrong_print(run)  # a reader that has closed the pipe is not a fault
        if name == "simulate":
            return self.wrong_files(os.path.join(place, "made"), run, call)
        if text != old:
            try:
                json.loads(text)
            except ValueError:
                return "the output is neither the old nor the new one"
        return "the new output is missing" if run.status == 0 and text == old else None

    @staticmethod
    def wrong_print(run):
        try:
            return None if run.status == 1 or json.loads(run.out) else "nothing printed"
        except ValueError:
            return "no document was printed"

    @staticmethod
    def wrong_lines(text, old, run):
        if not text.startswith(old):
            return "a line was lost"
        added = text[len(old):].lstrip("\n")
        if run.status == 0 and not added:
            return "the new line is missing"
        try:
            return added and not json.loads(added) or None
        except ValueError:
            return "a torn line"

    def wrong_files(self, made, run, call):
        names = sorted(os.listdir(made)) if os.path.isdir(made) else []
        for name in names:
            with open(os.path.join(made, name), "rb") as file, open(self.reference / name, "rb") as whole:
                if file.read() != whole.read():
                    return f"{name} is not whole"
        complete = names == sorted(os.listdir(self.reference))
        # The program does not remove a file that it cannot examine again.
        if run.status == 1 and os.path.isdir(made) and not complete and call not in ("newfstatat", "unlink"):
            return f"files remain: {names}"
        return "a file is missing" if run.status == 0 and not complete else None

    def sweep(self, name, call, error, mode):
        tally, faults = collections.Counter(), []
        for n in range(1, MOST):
            met, status, wrong = self.one(name, f"{call}:{'retval' if call == 'brk' else 'error'}={error}:when={n}{mode}")
            if not met:
                if LONG:  # it takes an hour on a busy machine, and the results must not be lost if it is stopped
                    print(f"{name} {call} {error}{mode}: {tally.total()} runs, {dict(sorted(tally.items()))}, wrong: {faults}", flush=True)
                return tally, faults
            if status is not None:
                tally[status] += 1
            if wrong:
                faults.append(wrong)
        return tally, faults + [f"{name} {call}: the sweep does not end"]

    def test_every_system_call_fails_in_turn(self):
        (self.shared / "tiny.json").write_text(json.dumps(TINY))
        self.reference = self.folder / "reference"
        self.assertEqual(0, evenwall("simulate", "--scenario", self.shared / "tiny.json", "-o", self.reference).status)
        jobs = [(name, call, error, mode) for name in COMMANDS for call in (ONLY or ERRORS if LONG else QUICK)
                for error in (ERRORS[call] if LONG else ERRORS[call][:1]) for mode in ("", "+")]
        if not LONG:  # a folder and files that cannot be examined
            jobs += [(name, "newfstatat", "EACCES", "+") for name in ("append", "simulate")]
        with ThreadPoolExecutor(2) as pool:
            results = list(pool.map(lambda job: self.sweep(*job), jobs))
        total, faults = collections.Counter(), []
        for tally, found in results:
            total += tally
            faults += found
        print(f"system calls failed: {total.total()} runs; by exit status: {dict(sorted(total.items()))}; wrong: {len(faults)}")
        self.assertEqual([], faults[:60])
        self.assertGreater(total.total(), 1000 if LONG and not ONLY and len(COMMANDS) == 5 else 30)


if __name__ == "__main__":
    unittest.main()
