# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests rows F23 to F30: the medium of the audio file fails, or the file is not a regular file."""
import json
import os
import pathlib
import re
import signal
import socket
import subprocess
import threading
import time
import unittest

import containers as c
from bench import PROGRAM, SANITIZED, FaultCase, await_readiness, evenwall, injected

NOBODY = 65534
PROMPT_S = 0.1  # from the signal to the end


class AudioMedium(FaultCase):
    """Tests inputs that are not regular files, and media that fail."""

    def refuse(self, path, *patterns, **more):
        old = self.put("out.json", "what stood here before\n")
        run = evenwall("measure", "--json", "-o", old, "--", path, watch=self.folder, **more)
        self.assertRefused(run, *patterns)

    def test_F23_input_output_error(self):
        whole = c.flac(self.capture)
        for name, content in {"x.wav": self.good, "x.flac": whole}.items():
            path = self.put(name, content)
            reads = 0
            for n in [*range(1, 31), *(2**k for k in range(5, 16))]:
                run = evenwall("measure", path, wrap=injected(f"pread64:error=EIO:when={n}", path=path), watch=self.folder)
                if run.status == 0:
                    break
                reads += 1
                self.assertRefused(run, name, "Input/output error", limit_s=60)
            self.assertEqual(0, run.status, "the sweep must end with a run without a fault")
            self.assertGreater(reads, 5)

    def start_and(self, action, frames=2**29):
        """Measures a long silent file and runs `action` on the file meanwhile."""
        path = self.put("long.wav", c.wav(b"", size=4 * frames, outer=4 * frames + 36))
        os.truncate(path, 44 + 4 * frames)
        child = subprocess.Popen([PROGRAM, "measure", "--json", path], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        # The change must come after the program has read some of the file: a file that changes before it is opened is just another file, and
        # no fault. (Under a sanitizer on a busy machine, a fixed wait was over before the program had begun.)
        deadline = time.monotonic() + 30
        while bytes_read_by(child.pid) < 2**24 and time.monotonic() < deadline:
            time.sleep(0.005)
        self.assertIsNone(child.poll(), "the program ended before the file changed")
        action(path)
        out, err = child.communicate(timeout=120)
        return child.returncode, err.decode()

    def test_F24_changes_while_it_is_read(self):
        status, err = self.start_and(lambda path: os.truncate(path, 44 + 4 * 2**28))
        self.assertEqual(1, status, err)
        self.assertRegex(err, r"\Aevenwall: [^\n]*long.wav: the (audio ends at frame|file changed while)[^\n]*\n\Z")
        status, err = self.start_and(lambda path: os.truncate(path, 44 + 4 * 2**29 + 4096))
        self.assertEqual(1, status, err)
        self.assertRegex(err, r"\Aevenwall: [^\n]*long.wav: the file changed while it was being read[^\n]*\n\Z")

    def test_F25_streams(self):
        expected = self.untouched()
        contents = {"WAV": self.good, "unfinished": c.wav(self.samples, size=0xFFFFFFFF, outer=0xFFFFFFFF), "RF64": c.rf64(self.samples),
                    "W64": c.w64(self.samples), "AIFF": c.aiff(c.swapped(self.samples)), "FLAC": c.flac(self.capture)}
        for name, content in contents.items():
            with self.subTest(name):
                read_end, write_end = os.pipe()
                feeder = threading.Thread(target=feed, args=(write_end, content))
                feeder.start()
                run = evenwall("measure", "--json", "-", stdin=read_end)
                os.close(read_end)
                feeder.join()
                self.assertEqual((0, expected), (run.status, run.json()["crosstalk"]), run.err)
                fifo = self.folder / f"fifo-{name}"
                os.mkfifo(fifo)
                feeder = threading.Thread(target=lambda: feed(os.open(fifo, os.O_WRONLY), content))
                feeder.start()
                run = evenwall("measure", "--json", fifo)
                feeder.join()
                self.assertEqual((0, expected), (run.status, run.json()["crosstalk"]), run.err)
        substituted = subprocess.run(["bash", "-c", f'"{PROGRAM}" measure --json <(cat "{self.capture}")'], capture_output=True, text=True)
        self.assertEqual(0, substituted.returncode, substituted.stderr)
        self.assertRefused(evenwall("measure", "-", stdin=b""), "standard input", "no audio")

    def test_F26_folders_devices_and_sockets_are_refused(self):
        server = socket.socket(socket.AF_UNIX)
        self.addCleanup(server.close)
        server.bind(str(self.folder / "socket"))
        for path, kind in ((self.folder, "folder"), ("/dev/zero", "device"), ("/dev/null", "device"), ("/dev/urandom", "device"),
                           (self.folder / "socket", "socket")):
            with self.subTest(path):
                self.refuse(path, kind, os.path.basename(path))

    def test_F27_a_file_of_a_terabyte_is_interrupted_promptly(self):
        size = 2**40
        path = self.put("vast.wav", c.rf64(b"", riff=size + 72, size=size))
        os.truncate(path, path.stat().st_size + size)
        child = subprocess.Popen(["/usr/bin/time", "-f", "%M", "-o", self.folder / "rss", PROGRAM, "measure", "--json", path],
                                 stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True)
        time.sleep(1)  # meanwhile the program looks at some eight hours of silence, and its tables of looks grow (row C20)
        self.assertIsNone(child.poll(), "the program ended before it could be interrupted")
        pid = int(pathlib.Path(f"/proc/{child.pid}/task/{child.pid}/children").read_text())
        start = time.perf_counter()
        os.kill(pid, signal.SIGINT)
        child.communicate(timeout=20)
        if not SANITIZED:
            self.assertLess(time.perf_counter() - start, 10 * PROMPT_S)  # includes the process around it and a busy machine; F30 checks the strict time
            self.assertLess(int((self.folder / "rss").read_text().split()[-1]), 64 * 1024)

    def test_F28_cannot_be_opened(self):
        os.symlink("round", self.folder / "around")
        os.symlink("around", self.folder / "round")
        for path, text in ((self.folder / "gone\x1b[31m.wav", "No such file"), (self.folder / "around", "symbolic links"),
                           (self.folder / ("x" * 256 + ".wav"), "name too long"), (self.capture / "below.wav", "Not a directory")):
            with self.subTest(text):
                self.refuse(path, text)
        self.assertNotIn("\x1b", evenwall("measure", self.folder / "gone\x1b[31m.wav").err)
        secret = self.put("secret.wav", self.good)
        os.chmod(secret, 0)
        self.assertRefused(evenwall("measure", secret, watch=self.folder, before=become_nobody), "secret.wav", "Permission denied")

    def test_F29_an_output_that_is_an_input_is_refused(self):
        path = self.put("mine.wav", self.good)
        os.link(path, self.folder / "hard.json")
        os.symlink(path, self.folder / "soft.json")
        for output in (path, self.folder / "hard.json", self.folder / "soft.json", self.folder / "." / "mine.wav"):
            for flag in ("-o", "--append"):
                with self.subTest(output=output, flag=flag):
                    self.assertRefused(evenwall("measure", "--json", path, flag, output, watch=self.folder), "input")
        folder = self.broken_session()
        for output in (folder / "steps.csv", folder / "session.json", folder / "step-01.wav"):
            with self.subTest(output):
                self.assertRefused(evenwall("solve", folder, "-o", output, watch=self.folder), "input")

    def test_F29_an_output_that_another_input_names_is_refused(self):
        """Such inputs are the session file of measure, a calibration that only a session names, and a solution in an archive."""
        path, facts = self.put("mine.wav", self.good), self.put("facts.json", '{"calibration": "preamp.json", "cartridge": "Larkspur"}')
        calibration = self.put("preamp.json", json.dumps({
            "schema": "evenwall/calibration/1", "points": [{"frequency_hz": 1000, "u_off_diagonal": [1e-5, 1e-5], "matrix": [
                [{"re": 1, "im": 0}, {"re": 1e-4, "im": 0}], [{"re": 1e-4, "im": 0}, {"re": 1, "im": 0}]]}]}))
        for flag in ("-o", "--append"):
            self.assertRefused(evenwall("measure", "--json", path, "--session", facts, flag, facts, watch=self.folder), "facts.json", "input")
        readings, meter = self.folder / "readings.jsonl", self.folder / "meter.csv"
        for capture, tilt in zip(self.captures, ("-1.5", "0", "1")):
            self.assertEqual(0, evenwall("measure", capture, "--tilt-deg", tilt, "--session", facts, "--append", readings).status)
        meter.write_text("tilt_deg,right_into_left_db,left_into_right_db\n-1,-30,-26\n0,-32,-30\n1,-30,-34\n")
        (self.folder / "session.json").write_text(facts.read_text())
        for source in (readings, meter):
            run = evenwall("solve", "--json", source)
            self.assertEqual((0, "preamp.json"), (run.status, run.json()["session"]["calibration"]), run.err)
            self.assertRefused(evenwall("solve", "--json", "--quiet", source, "-o", calibration, watch=self.folder), "preamp.json", "input|holds a calibration")
        archive = self.folder / "archive"
        archive.mkdir()
        for name, cartridge in (("a.json", "Larkspur"), ("b.json", "Larkspur 2")):
            document = evenwall("solve", "--json", readings).json()
            (archive / name).write_text(json.dumps({**document, "session": {**document["session"], "cartridge": cartridge}}))
        before = (archive / "b.json").read_bytes()
        self.assertRefused(evenwall("survey", "--json", archive, "-o", archive / "b.json"), "b.json", "input")
        self.assertEqual((before, ["a.json", "b.json"]), ((archive / "b.json").read_bytes(), sorted(os.listdir(archive))))
        for _ in range(2):  # the earlier survey holds no solution, so it is replaced
            self.assertEqual(0, evenwall("survey", "--json", archive, "-o", archive / "survey.json").status)

    def test_F29_one_file_for_two_outputs_is_refused(self):
        path, both = self.put("mine.wav", self.good), self.folder / "both.jsonl"
        os.symlink("both.jsonl", self.folder / "soft.jsonl")
        for other in (both, self.folder / "soft.jsonl"):
            self.assertRefused(evenwall("measure", "--json", path, "-o", both, "--append", other, watch=self.folder), "--append")
        both.write_text("")
        self.assertRefused(evenwall("measure", "--json", path, "-o", both, "--append", both, watch=self.folder), "--append")

    def stalled(self, *words, stdin):
        child = subprocess.Popen([PROGRAM, *map(str, words)], stdin=stdin, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        await_readiness(child.pid)
        time.sleep(0.3)
        self.assertIsNone(child.poll())
        start = time.perf_counter()
        child.send_signal(signal.SIGINT)
        child.communicate(timeout=20)
        self.assertEqual(130, child.returncode)
        return time.perf_counter() - start

    def test_F25_rejected_signals_of_a_stream_are_not_listed(self):
        """A pipe is read only once: rejected signals in it are not listed, and the program does not wait for the pipe again."""
        fifo = self.folder / "pipe.wav"
        os.mkfifo(fifo)
        writer = threading.Thread(target=lambda: feed(os.open(fifo, os.O_WRONLY), self.good))
        writer.start()
        run = evenwall("measure", "--json", fifo, "--rejected", limit_s=20)
        writer.join()
        self.assertEqual(0, run.status, run.err)

    def test_F30_a_stalled_input_is_interrupted_promptly(self):
        fifo = self.folder / "stalled.wav"
        os.mkfifo(fifo)
        read_end, write_end = os.pipe()
        # There is no writer, so opening the FIFO and reading the pipe never return. The best of three counts, because the machine may be busy.
        for words, stdin in ((["measure", fifo], subprocess.DEVNULL), (["measure", "-"], read_end), (["solve", "-"], read_end)):
            with self.subTest(words):
                self.assertLess(min(self.stalled(*words, stdin=stdin) for _ in range(3)), 1 if SANITIZED else PROMPT_S)
        os.close(read_end)
        os.close(write_end)


def feed(descriptor, content):
    with os.fdopen(descriptor, "wb") as pipe:
        try:
            pipe.write(content)
        except BrokenPipeError:
            pass


def bytes_read_by(pid):
    try:
        return int(re.search(r"rchar: (\d+)", pathlib.Path(f"/proc/{pid}/io").read_text())[1])
    except (OSError, TypeError):
        return 0


def become_nobody():
    if os.getuid() == 0:
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)


if __name__ == "__main__":
    unittest.main()
