# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests that a decoder that has been taken over can do no harm (promise 2), and that the program itself still works.

EVENWALL_HOSTILE_DECODER names the shared object of hostile_decoder.cpp.
"""
import errno
import json
import os
import pathlib
import re
import resource
import shutil
import signal
import subprocess
import time
import unittest

from bench import PROGRAM, SANITIZED, FaultCase, await_readiness, evenwall, injected

DECODER = os.environ.get("EVENWALL_HOSTILE_DECODER")
ATTEMPTS = {"create", "mode", "flags", "structure", "emptied", "truncate", "change", "rename", "restore", "remove", "folder", "link", "temporary", "tcp",
            "udp", "local", "memory", "queue", "limit", "own_limit", "priority", "affinity", "console", "typing", "code", "process", "run", "signal",
            "owner", "which_signal", "readiness"}
# These reach the driver, which returns its own errors: standard input is not a terminal here, and not every file system has flags.
DRIVERS = {"console", "typing", "flags"}
# On ENOSYS the C library uses an older call instead.
ABSENT = {"structure"}
# These simulate an old kernel. Linux 5.13 has the first version of Landlock, Debian 12 has the second; neither covers truncation.
NO_LANDLOCK, FIRST_LANDLOCK = "landlock_create_ruleset:error=ENOSYS", "landlock_create_ruleset:retval=1:when=1"
NO_SECCOMP = "seccomp:error=ENOSYS"
UNCONFINED = r"evenwall: the system refused the filter of system calls \(seccomp\)\. [^\n]+\n"


@unittest.skipIf(SANITIZED, "a sanitizer's runtime must come first")
class Confinement(FaultCase):
    """Runs the real program with the hostile decoder in it."""

    @classmethod
    def setUpClass(cls):
        """Converts the captures to a byte order that needs the decoder; plain WAV captures bypass it."""
        super().setUpClass()
        for wav in cls.captures:
            subprocess.run(["sox", wav, wav.with_suffix(".aiff")], check=True)
            wav.unlink()
        log = cls.session / "steps.csv"
        log.write_text(log.read_text().replace(".wav", ".aiff"))
        cls.captures = sorted(cls.session.glob("*.aiff"))
        cls.capture = cls.captures[0]
        cls.good = cls.capture.read_bytes()

    def attacked(self, *words, wrap=(), **more):
        """Returns (run, [{attempt: errno}]), with one entry for each capture that was opened."""
        self.assertTrue(DECODER and os.path.exists(DECODER), "EVENWALL_HOSTILE_DECODER must name a file")
        self.prey, self.outputs, self.temporary = (self.folder / name for name in ("prey", "outputs", "temporary"))
        for folder in (self.prey, self.outputs, self.temporary):
            folder.mkdir(exist_ok=True)
        (self.prey / "there").write_text("as it was")
        self.victim = subprocess.Popen(["sleep", "1000"])
        self.addCleanup(lambda victim=self.victim: (victim.kill(), victim.wait()))
        self.victims_state = state_of(self.victim.pid)
        run = evenwall(*words, wrap=[*wrap, "env", f"LD_PRELOAD={DECODER}", f"HOSTILE_FOLDER={self.prey}", f"HOSTILE_VICTIM={self.victim.pid}",
                                     f"TMPDIR={self.temporary}"], **more)
        told = [{k: int(v) for k, v in re.findall(r"(\w+)=(\d+)", line)} for line in run.err.splitlines() if line.startswith("hostile:")]
        self.assertTrue(told, "the decoder must be called: " + run.err)
        self.assertTrue(all(ATTEMPTS == set(t) for t in told))
        return run, told

    def assertHeld(self, told):
        for attempts in told:
            for attempt, error in attempts.items():
                self.assertIn(error, (errno.ENOSYS,) if attempt in ABSENT else (errno.EPERM,), (attempt, attempts))
        self.assertEqual(["there"], os.listdir(self.prey))
        self.assertEqual("as it was", (self.prey / "there").read_text())
        self.assertIsNone(self.victim.poll(), "the decoder ended another process")
        self.assertEqual(self.victims_state, state_of(self.victim.pid))

    def test_without_both_protections_the_hostile_decoder_does_harm(self):
        """Shows that the stand-in is hostile, and that the program works on kernels with neither protection and reports that once."""
        run, told = self.attacked("measure", "--json", "--jobs", 1, self.capture, self.captures[1], wrap=injected(NO_LANDLOCK, NO_SECCOMP))
        self.assertEqual(0, run.status, run.err)
        for attempt, error in told[0].items():
            self.assertIn(error, (0, errno.ENOTTY, errno.EOPNOTSUPP) if attempt in DRIVERS else (0,), (attempt, told[0]))
        self.assertIn("created", os.listdir(self.prey))
        self.assertIn("touched", os.listdir(self.prey))
        self.assertEqual(-signal.SIGKILL, self.victim.wait(timeout=10))
        self.assertEqual(1, len(re.findall(UNCONFINED, run.err)), run.err)

    def test_the_filter_alone_confines_the_decoder(self):
        """Landlock, in any version, is a second barrier: the program does not need it, and does not report that it is missing."""
        plain = evenwall("measure", "--json", self.capture)
        for fault in (FIRST_LANDLOCK, NO_LANDLOCK):
            with self.subTest(fault):
                run, told = self.attacked("measure", "--json", self.capture, wrap=injected(fault))
                self.assertHeld(told)
                self.assertEqual((0, plain.out), (run.status, run.out))
                self.assertNotRegex(run.err, UNCONFINED)

    def test_strict_refuses_to_run_without_the_filter(self):
        target = self.put("out.json", "old")
        for words in (["measure", self.capture], ["solve", self.session], ["calibrate", self.capture], ["measure", self.capture, "-o", target]):
            for faults in ([NO_SECCOMP], ["prctl:error=EINVAL"], ["seccomp:error=EACCES:when=2+", "prctl:error=EACCES"]):
                with self.subTest(words, faults=faults):
                    trace = self.folder / "trace"
                    wrap = injected(*faults)
                    wrap[wrap.index("/dev/null")] = trace
                    wrap[wrap.index("-e") + 1] += ",openat"
                    strict = evenwall(*words, "--strict", "--quiet", wrap=wrap)
                    self.assertRefused(strict, "seccomp", "--strict")
                    self.assertNotIn(".aiff", trace.read_text())
                    self.assertEqual("old", target.read_text())
        for words, expected in ((["--quiet"], ""), ([], UNCONFINED)):
            with self.subTest(words):
                run = evenwall("measure", *words, self.capture, wrap=injected(NO_SECCOMP))
                self.assertEqual(0, run.status)
                self.assertRegex(run.err, rf"\A{expected}\Z")

    @unittest.skipUnless(shutil.which("valgrind"), "valgrind is not installed")
    def test_the_program_ends_under_valgrind(self):
        """Valgrind shares the process, and ends its threads by signals, which the filter refuses; it does not pass on the seccomp call."""
        plain = evenwall("measure", "--json", "--jobs", 2, self.capture)
        run = evenwall("measure", "--json", "--jobs", 2, self.capture, wrap=["valgrind", "-q"], limit_s=300)
        self.assertEqual(0, run.status, run.err)
        for way in ("left_into_right", "right_into_left"):  # valgrind computes long doubles in 64 bits
            self.assertAlmostEqual(*(r.json()["crosstalk"][way]["db"] for r in (plain, run)), delta=1e-6)
        self.assertRegex(run.err, UNCONFINED)

    def test_a_hostile_decoder_is_confined_while_a_stream_is_kept(self):
        """The worker copies the stream into the file. Before a decoder runs, the file has its name, and is open for reading only."""
        kept, trace = self.folder / "kept.aiff", self.folder / "trace"
        plain = evenwall("measure", "--json", "-", "--name", "x", stdin=self.good)
        run, told = self.attacked("measure", "--json", "-", "--name", "x", "--keep", kept, stdin=self.good)
        self.assertHeld(told)
        self.assertEqual((plain.status, plain.out, self.good), (run.status, run.out, kept.read_bytes()))
        kept.unlink()
        wrap = ["strace", "-f", "-qq", "-y", "-o", str(trace), "-e", "trace=write,pread64,read,lseek,close"]
        self.assertEqual(0, evenwall("measure", "--json", "-", "--keep", kept, stdin=self.good, wrap=wrap).status)
        calls = trace.read_text().splitlines()
        descriptors = {m[1] for m in (re.search(rf"write\((\d+)<{re.escape(str(self.folder))}", line) for line in calls) if m}
        self.assertEqual(1, len(descriptors), descriptors)
        last_write = max(n for n, line in enumerate(calls) if re.search(rf"write\({next(iter(descriptors))}<{re.escape(str(self.folder))}", line))
        closed = [n for n, line in enumerate(calls) if n > last_write and re.search(rf"close\({next(iter(descriptors))}<", line)]
        decoded = [n for n, line in enumerate(calls) if n > last_write and re.search(rf"(pread64|read|lseek)\(\d+<{re.escape(str(self.folder))}", line)]
        self.assertTrue(closed and decoded and min(closed) < min(decoded), (closed[:3], decoded[:3]))

    def test_a_hostile_decoder_is_confined(self):
        expected = {("measure",): self.capture, ("solve",): self.session, ("calibrate",): self.capture}
        for words, source in expected.items():
            for jobs in (1, 4):
                with self.subTest(words, jobs=jobs):
                    plain = evenwall(*words, "--json", "--jobs", jobs, source)
                    run, told = self.attacked(*words, "--json", "--jobs", jobs, source)
                    self.assertHeld(told)
                    self.assertEqual((plain.status, plain.out), (run.status, run.out))

    def test_outputs_and_streams_work_when_confined(self):
        outputs = self.folder / "outputs"
        outputs.mkdir()
        target, lines, link = (outputs / name for name in ("out.json", "lines.jsonl", "link"))
        target.write_text("old")
        link.symlink_to("target")
        for words in (["-o", target], ["-o", outputs / "new.json"], ["-o", link], ["-o", "/dev/null"], ["-o", "/dev/stdout"], ["--append", lines],
                      ["--append", lines]):
            with self.subTest(words):
                run, told = self.attacked("measure", "--json", self.capture, *words)
                self.assertEqual(0, run.status, run.err)
                self.assertHeld(told)
        for path in (target, outputs / "new.json", outputs / "target"):
            self.assertEqual(str(self.capture), json.loads(path.read_text())["capture"])
        self.assertEqual(1, len(lines.read_text().splitlines()))  # a reading is added once
        run, told = self.attacked("measure", "--json", "-", stdin=self.good)
        self.assertEqual(0, run.status, run.err)  # its temporary copy was made in advance
        self.assertHeld(told)
        self.assertEqual([], os.listdir(self.temporary))

    def test_no_file_can_be_made_beside_an_output(self):
        """The attacked folder is the output's own: another process writes there, and it carries out only the one request."""
        for words, written in ((["--json", "-o"], "out.json"), (["--json", "--append"], "lines.jsonl")):
            with self.subTest(words):
                (self.folder / "prey" / written).unlink(missing_ok=True)
                run, told = self.attacked("measure", self.capture, *words, self.folder / "prey" / written)
                self.assertEqual(0, run.status, run.err)
                self.assertEqual(str(self.capture), json.loads((self.prey / written).read_text())["capture"])
                (self.prey / written).unlink()
                self.assertHeld(told)

    def test_refusals_of_the_writing_process_are_shown(self):
        """Messages of the process that writes appear as before, and the old file stays."""
        plain = evenwall("measure", self.capture, "-o", self.folder / "none" / "out.json")
        self.assertRefused(plain, "none/out.json", "No such file")
        target = self.put("out.json", "old")
        full = evenwall("measure", "--json", self.capture, "-o", target, wrap=injected("fsync:error=EIO"))
        self.assertRefused(full, "out.json", "Input/output error")
        self.assertEqual("old", target.read_text())

    def test_if_one_process_ends_the_other_ends_too(self):
        fifo, target = self.folder / "stalls", self.put("out.json", "old")
        os.mkfifo(fifo)
        for victim, number, status in ((0, signal.SIGKILL, -9), (1, signal.SIGKILL, -9), (1, signal.SIGSEGV, -11), (0, signal.SIGTERM, 143), (1, signal.SIGTERM, 143)):
            with self.subTest(victim=victim, number=number):
                child = subprocess.Popen([PROGRAM, "measure", fifo, "-o", target])
                workers = self.wait_for(lambda: children_of(child.pid))
                await_readiness(child.pid)
                os.kill([child.pid, workers[0]][victim], number)
                self.assertEqual(status, child.wait(timeout=10))
                self.wait_for(lambda: not os.path.exists(f"/proc/{workers[0]}") or b"Z" in pathlib.Path(f"/proc/{workers[0]}/stat").read_bytes().split(b")")[1][:3])
                self.assertEqual("old", target.read_text())

    def wait_for(self, holds, limit_s=10):
        deadline = time.monotonic() + limit_s
        while time.monotonic() < deadline:
            found = holds()
            if found:
                return found
            time.sleep(0.01)
        self.fail("the expected state was not reached in time")

    def test_a_session_may_contain_a_fifo(self):
        session = self.broken_session()
        fifo = session / "stream.aiff"
        os.mkfifo(fifo)
        log = (session / "steps.csv").read_text().replace(self.capture.name, "stream.aiff")
        (session / "steps.csv").write_text(log)
        with subprocess.Popen(["cp", self.capture, fifo]):
            run = evenwall("solve", "--json", session)
        self.assertEqual(0, run.status, run.err)
        self.assertEqual(4, len(run.json()["steps"]))

    def test_the_restrictions_are_set_before_a_second_thread_starts(self):
        trace = self.folder / "trace"
        subprocess.run(["strace", "-f", "-o", trace, "-e", "trace=landlock_restrict_self,seccomp,clone,clone3", PROGRAM, "measure",
                        self.capture], stdout=subprocess.DEVNULL, check=True)
        calls = [re.sub(r"^\d+ +", "", line) for line in trace.read_text().splitlines()]
        first_thread = next(i for i, call in enumerate(calls) if call.startswith("clone"))
        before = "\n".join(calls[:first_thread])
        self.assertRegex(before, r"landlock_restrict_self\(\d+, 0\) += 0")
        self.assertRegex(before, r"seccomp\(SECCOMP_SET_MODE_FILTER, .*\) = 0")


def state_of(pid):
    """Returns the properties of a process that another process could change."""
    return os.getpriority(os.PRIO_PROCESS, pid), os.sched_getaffinity(pid), resource.prlimit(pid, resource.RLIMIT_CORE)


def children_of(pid):
    return [int(word) for word in pathlib.Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


if __name__ == "__main__":
    unittest.main()
