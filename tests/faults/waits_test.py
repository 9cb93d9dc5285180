# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests that waits for other programs end: a FIFO without a writer, and a file that remains locked (rows W)."""
import fcntl
import os
import signal
import subprocess
import threading
import time
import unittest

from bench import PROGRAM, SANITIZED, FaultCase, await_readiness, evenwall

SHORT_S = "0.3"
NOTICE_S = 5


class Waits(FaultCase):
    """Tests waits with short limits, except for the notice after 5 s."""

    def fifo(self, name="fifo"):
        path = self.folder / name
        os.mkfifo(path)
        return path

    def locked(self):
        path = self.put("bench.jsonl", "")
        holder = open(path, "rb")
        self.addCleanup(holder.close)
        fcntl.flock(holder, fcntl.LOCK_EX)
        return path

    def start(self, *words):
        return subprocess.Popen([PROGRAM, *map(str, words)], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)

    def test_W1_a_pipe_without_a_writer_is_given_up(self):
        fifo, log, lines = self.fifo(), self.fifo("steps.csv"), self.fifo("readings.jsonl")
        document, other = self.fifo("document.json"), self.folder / "made"
        facts = self.broken_session(LOG_OF_ONE)
        (facts / "session.json").unlink()
        os.mkfifo(facts / "session.json")
        listed = self.broken_session("capture,tilt_deg\nstep-01.wav,-1.5\nstep-02.wav,0\nstep-03.wav,1\nlate.wav,2\n")
        os.mkfifo(listed / "late.wav")
        for words, named in ((["measure", fifo], "fifo"), (["measure", "--json", fifo, "-o", self.folder / "out.json"], "fifo"),
                             (["measure", self.capture, "--session", document], "document.json"), (["calibrate", fifo], "fifo"), (["solve", log], "steps.csv"),
                             (["solve", lines], "readings.jsonl"), (["solve", facts], "session.json"),
                             (["solve", self.session, "--calibration", document], "document.json"), (["report", document], "document.json"),
                             (["survey", document], "document.json"), (["simulate", "--scenario", document, "-o", other], "document.json")):
            with self.subTest(words=words):
                run = evenwall(*words, "--wait", SHORT_S, limit_s=20)
                self.assertEqual(1, run.status)
                self.assertRegex(run.err, rf"{named}: no program writes to this pipe\. The program gave up after 0\.3 s\. Start the program that writes to it, or wait "
                                          r"longer with --wait SECONDS")
                self.assertGreaterEqual(run.seconds, 0.3)
                self.assertWithinLimits(run, 5)
        run = evenwall("solve", "--json", listed, "--wait", SHORT_S)
        self.assertEqual((0, 1), (run.status, run.warnings().count("step_unreadable")), run.err)

    def test_W1_a_slow_writer_is_read_to_its_end(self):
        fifo = self.fifo()

        def write():
            with open(fifo, "wb") as pipe:
                time.sleep(1)  # the pipe is open, and silent for longer than the limit
                pipe.write(self.good)
        writer = threading.Thread(target=write)
        writer.start()
        run = evenwall("measure", "--json", fifo, "--wait", SHORT_S)
        writer.join()
        self.assertEqual((0, self.untouched()), (run.status, run.json()["crosstalk"]), run.err)

    def test_W2_a_locked_file_is_given_up(self):
        path = self.locked()
        for view in (["--json"], []):
            run = evenwall("measure", *view, self.capture, "--append", path, "--wait", SHORT_S, watch=self.folder)
            self.assertRefused(run, "step-01.wav: the reading was not added", r"bench.jsonl: another program holds the lock of this file\. The program gave up after "
                                                                              r"0\.3 s\. End that program, or wait longer with --wait SECONDS")

    def test_W2_a_lock_that_is_released_in_time_is_used(self):
        path = self.put("bench.jsonl", "")
        with open(path, "rb") as holder:
            fcntl.flock(holder, fcntl.LOCK_EX)
            child = self.start("measure", "--json", self.capture, "--append", path)
            time.sleep(1)
            self.assertEqual("", path.read_text())
        out, err = child.communicate(timeout=20)
        self.assertEqual((0, out, ""), (child.returncode, path.read_text(), err))

    def test_W3_a_wait_is_announced_and_can_be_interrupted(self):
        """After 5 s one line states the reason of the wait and its limit; SIGINT still ends the wait at once."""
        started = time.monotonic()
        waiting = {"fifo: no program writes to this pipe": self.start("measure", self.fifo()),
                   "bench.jsonl: another program holds the lock of this file": self.start("measure", "--json", self.capture, "--append", self.locked())}
        quiet = self.start("measure", "--quiet", self.folder / "fifo")
        for found, child in waiting.items():
            line = child.stderr.readline()
            self.assertRegex(line, rf"\Aevenwall: \S*{found}\. The program waits for up to 30 s\. Press Ctrl-C to end it\.\n\Z")
            self.assertGreaterEqual(time.monotonic() - started, NOTICE_S)
        if not SANITIZED:
            self.assertLess(time.monotonic() - started, 3 * NOTICE_S)
        for child in (*waiting.values(), quiet):
            await_readiness(child.pid)
            begun = time.perf_counter()
            child.send_signal(signal.SIGINT)
            out, err = child.communicate(timeout=10)
            self.assertEqual((130, "", ""), (child.returncode, out, err))
            if not SANITIZED:
                self.assertLess(time.perf_counter() - begun, 0.5)  # 0.1 s on an idle machine

    def test_W4_a_wait_limit_out_of_range_is_refused(self):
        for words in (["-1"], ["x"], ["1e9"], ["nan"]):
            self.assertRefused(evenwall("measure", self.capture, "--wait", *words), "--help", status=2)
        self.assertEqual(1, evenwall("measure", self.fifo(), "--wait", "0", limit_s=5).status)
        self.assertEqual(0, evenwall("measure", self.capture, "--wait", "0").status)


LOG_OF_ONE = "capture,tilt_deg\nstep-01.wav,0\n"

if __name__ == "__main__":
    unittest.main()
