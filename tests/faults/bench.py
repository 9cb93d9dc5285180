# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds what the fault tests share: a small session with a known answer, and functions that run the real program and observe it."""
import json
import os
import pathlib
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import unittest

sys.dont_write_bytecode = True  # adds no files to the source tree
if "EVENWALL_PROGRAM" not in os.environ:
    if len(sys.argv) < 2:
        sys.exit("usage: FILE_test.py PROGRAM")
    os.environ["EVENWALL_PROGRAM"] = str(pathlib.Path(sys.argv.pop(1)).resolve())
PROGRAM = os.environ["EVENWALL_PROGRAM"]
GNU_TIME = "/usr/bin/time"
assert os.access(GNU_TIME, os.X_OK), "GNU time is needed: apt-get install time"
SANITIZED = "EVENWALL_SANITIZED" in os.environ  # slower and larger by design, so limits of time and memory are not checked
# Options for strace: a traced process cannot be searched for memory leaks.
WITHOUT_LEAK_SEARCH = ["-E", "ASAN_OPTIONS=exitcode=99:detect_leaks=0"] if SANITIZED else []

# A sanitizer's finding must not look like a refusal, so it has an exit status of its own.
SANITIZER_STATUS = {f"{kind}_OPTIONS": "exitcode=99:" + os.environ.get(f"{kind}_OPTIONS", "") for kind in ("ASAN", "UBSAN", "TSAN", "LSAN")}


def some_of(values, turn):
    """All values. A sanitizer, which is ten times slower, takes one of them in turn."""
    return [values[turn % len(values)]] if SANITIZED else values


MOST_RSS_KIB = 64 * 1024
MOST_S = 10
# A message has the form "Finding. Remedy." or "finding; remedy", or states what would have been correct.
TELLS_WHAT_TO_DO = r"; |\. [A-Z][a-z]+ |, [a-z]+ | are accepted| belongs| is none of | outside of | was expected|--help"
OLD = "what stood here before\n"

SCENARIO = {
    "schema": "evenwall/scenario/1", "name": "fault bench", "sample_rate_hz": 16000, "bits": 16,
    "record": {"bands": [{"band": None, "duration_s": 0.3}, {"band": "left", "duration_s": 3.8}, {"band": None, "duration_s": 0.3},
                         {"band": "right", "duration_s": 3.8}, {"band": None, "duration_s": 0.3}]},
    "cartridge": {"generator_error_left_deg": -1.0, "generator_error_right_deg": -0.6,
                  "coupling_right_into_left": {"re": 0.005, "im": 0.001}, "coupling_left_into_right": {"re": 0.004, "im": 0.001}},
    "noise": {"surface_noise_db": -55},
    "steps": [{"tilt_deg": -1.5}, {"tilt_deg": 0}, {"tilt_deg": 1}, {"tilt_deg": 2}],
    "gauge_error_u_deg": 0.01,
    "session": {"cartridge": "Larkspur", "record": "Even Furrow", "bands": ["left", "right"], "gauge_u_deg": 0.01},
}


class Run:
    """A finished run of the program."""

    def __init__(self, status, out, err, seconds, usage, changed):
        self.status, self.raw, self.seconds, self.changed = status, out, seconds, changed
        self.out, self.err = out.decode("utf-8", "surrogateescape"), err.decode("utf-8", "surrogateescape")
        if usage is not None:  # otherwise rss_kib and cpu_s do not exist, and their use raises AttributeError
            rss_kib, user_s, system_s = usage.splitlines()[-1].split()
            self.rss_kib, self.cpu_s = int(rss_kib), float(user_s) + float(system_s)

    def json(self):
        return json.loads(self.out, parse_constant=refuse_constant)

    def warnings(self):
        return [w["code"] for w in self.json()["warnings"]]


def refuse_constant(word):
    raise AssertionError(f"{word} in a document")


def listing(folder):
    """Returns every name below the folder with the properties that a change of the file would alter."""
    found = {}
    for path in sorted(pathlib.Path(folder).rglob("*")):
        status = path.lstat()
        found[str(path)] = (status.st_ino, status.st_mode, status.st_size, status.st_mtime_ns)
    return found


def environment(env):
    merged = {**os.environ, **SANITIZER_STATUS, **(env or {})}
    return {key: value for key, value in merged.items() if value is not None}


def evenwall(*words, stdin=b"", env=None, cwd=None, watch=None, before=None, limit_s=60, wrap=(), stdout=None, metered=True):
    """Runs the program. `watch`: a folder, the changes of which are listed; `before`: called in the child; `wrap`: words in front. Without
    `metered`, memory and processor time are unknown, and a run takes a quarter less time."""
    limit_s *= 5 if SANITIZED else 1  # against hangs only
    seen = listing(watch) if watch else {}
    # A process starts with the peak memory of its parent: GNU time is small, Python is not.
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err, tempfile.TemporaryFile() as given, \
            tempfile.NamedTemporaryFile(mode="r") as usage:
        os.chmod(usage.name, 0o666)
        meter = [GNU_TIME, "-f", "%M %U %S", "-o", usage.name] if metered else []
        command = [*meter, *map(str, wrap), PROGRAM, *(w if isinstance(w, bytes) else str(w) for w in words)]
        if isinstance(stdin, bytes):
            given.write(stdin)
            given.seek(0)
        start = time.perf_counter()
        child = subprocess.Popen(command, stdin=given if isinstance(stdin, bytes) else stdin, stdout=out if stdout is None else stdout, stderr=err,
                                 env=environment(env), cwd=cwd, preexec_fn=before, start_new_session=True)
        timer = threading.Timer(limit_s, os.killpg, (child.pid, signal.SIGKILL))
        timer.start()
        child.wait()
        timer.cancel()
        seconds = time.perf_counter() - start
        out.seek(0)
        err.seek(0)
        told = usage.read() if metered else None
        assert told.strip() if metered else child.returncode != -signal.SIGKILL, f"no end within {limit_s} s ({seconds:.1f} s, status {child.returncode}): {command}"
        now = listing(watch) if watch else {}
        changed = sorted(path for path in seen.keys() | now.keys() if seen.get(path) != now.get(path))
        return Run(child.returncode, out.read(), err.read(), seconds, told, changed)


def await_readiness(pid, limit_s=30):
    """Waits until the program handles signals as intended. Before that a signal just ends it, and on a busy machine this may take a while."""
    deadline = time.monotonic() + limit_s
    while time.monotonic() < deadline:
        blocked = re.search(r"^SigBlk:\s*([0-9a-f]+)", pathlib.Path(f"/proc/{pid}/status").read_text(), re.M)
        if blocked and int(blocked[1], 16) & 1 << (signal.SIGINT - 1):
            return
        time.sleep(0.005)
    raise AssertionError(f"process {pid} never waits for signals")


def injected(*faults, path=None, first_process_only=False):
    """Returns words in front of the program that make system calls fail (only on `path`, if given), in strace's syntax ("pread64:error=EIO:when=3").

    If the program writes a file, its first process does so, and another process decodes and reports errors.
    """
    strace = shutil.which("strace")
    assert strace, "strace is needed: apt-get install strace"
    words = [strace, *([] if first_process_only else ["-f"]), "-qq", "-o", "/dev/null", "-e", "trace=" + ",".join(sorted({f.split(":")[0] for f in faults}))]
    words += ["-P", path] if path else []
    words += WITHOUT_LEAK_SEARCH
    for fault in faults:
        words += ["-e", "inject=" + fault]
    return words


class FaultCase(unittest.TestCase):
    """Provides self.folder (new for each test), self.session and self.capture (shared, read-only)."""
    maxDiff = None

    @classmethod
    def setUpClass(cls):
        cls.shared = pathlib.Path(tempfile.mkdtemp(prefix="evenwall-faults-"))
        cls.addClassCleanup(shutil.rmtree, cls.shared, ignore_errors=True)
        os.chmod(cls.shared, 0o755)
        (cls.shared / "scenario.json").write_text(json.dumps(SCENARIO))
        cls.session = cls.shared / "session"
        made = evenwall("simulate", "--scenario", cls.shared / "scenario.json", "--seed", 3, "-o", cls.session)
        assert made.status == 0, made.err
        cls.captures = sorted(cls.session.glob("*.wav"))
        cls.capture = cls.captures[0]
        cls.good = cls.capture.read_bytes()
        cls.samples = cls.good[44:]
        assert cls.good[36:40] == b"data"  # a plain header of 44 bytes; 16-bit stereo at 16 kHz

    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(dir=self.shared))

    def put(self, name, content):
        path = self.folder / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    def measure(self, content, name="bench.wav", **more):
        """Measures bytes; the output file exists already and must survive a refusal."""
        self.old = self.put("out.json", OLD)
        return evenwall("measure", "--json", self.put(name, content), "-o", self.old, watch=self.folder, **more)

    def broken_session(self, log=None, facts=None):
        """Returns a copy of the session with another log or other facts; its captures are hard links."""
        folder = pathlib.Path(tempfile.mkdtemp(dir=self.folder))
        for source in self.session.iterdir():
            if source.suffix == ".wav":
                os.link(source, folder / source.name)
            else:
                shutil.copy(source, folder / source.name)
        if log is not None:
            (folder / "steps.csv").write_bytes(log if isinstance(log, bytes) else log.encode())
        if facts is not None:
            (folder / "session.json").write_bytes(facts if isinstance(facts, bytes) else facts.encode())
        return folder

    def solve(self, log=None, facts=None, *words, **more):
        return evenwall("solve", "--json", *words, self.broken_session(log, facts), watch=self.folder, **more)

    def assertWithinLimits(self, run, limit_s=MOST_S):
        if SANITIZED:
            return
        self.assertLessEqual(run.rss_kib, MOST_RSS_KIB)
        self.assertLessEqual(run.seconds, limit_s)

    def assertRefused(self, run, *patterns, status=1, limit_s=MOST_S):
        """Checks that one line has the expected words and states what to do, that there is no output, and that no file was changed."""
        self.assertEqual((status, ""), (run.status, run.out), run.err)
        self.assertRegex(run.err, r"\Aevenwall: [^\n]+\n\Z")
        for pattern in patterns:
            self.assertRegex(run.err, pattern)
        self.assertRegex(run.err, TELLS_WHAT_TO_DO, "the message must state what to do")
        self.assertEqual([], run.changed)
        self.assertWithinLimits(run, limit_s)

    def assertAnswered(self, run, *codes, limit_s=MOST_S):
        """Checks that the exit status is 0 and that the document has each of the warning codes. Returns the document."""
        self.assertEqual(0, run.status, run.err)
        self.assertWithinLimits(run, limit_s)
        document = self.document(run)
        told = [w["code"] for w in document["warnings"]]
        for code in codes:
            self.assertIn(code, told)
        return document

    def document(self, run):
        text = run.out if run.out else self.old.read_text()
        return json.loads(text, parse_constant=refuse_constant)

    def untouched(self):
        """Returns the crosstalk of the good capture."""
        return evenwall("measure", "--json", self.capture).json()["crosstalk"]

    def answer(self, log=None, facts=None):
        run = self.solve(log, facts)
        self.assertEqual(0, run.status, run.err)
        return run.json()
