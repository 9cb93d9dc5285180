# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests `evenwall new` and `evenwall watch` as a user runs them: with pipes, on a pseudo-terminal, with and without inotify."""
import fcntl
import json
import os
import pathlib
import re
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import threading
import time
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests/support"))
from simulated_session import short_demo, simulated  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
SANITIZED = "EVENWALL_SANITIZED" in os.environ
LIMIT_S = 60 * (5 if SANITIZED else 1)  # against hangs only
NO_INOTIFY = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", "trace=inotify_init1", "-e", "inject=inotify_init1:error=EMFILE"]
HEADLINE = "set the azimuth to"
ASKED = "Press Enter alone to add no row: "
COLUMNS = ("capture", "tilt_deg", "tilt_units", "tilt_u", "from_s", "to_s", "use", "leads", "sequence", "approach", "note")


def evenwall(*words):
    run = subprocess.run([PROGRAM, *map(str, words)], stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=LIMIT_S)
    return run.returncode, run.stdout, run.stderr


class Watching:
    """A running `evenwall watch`. `terminal`: standard input and standard output are a pseudo-terminal; otherwise they are pipes.
    `errors_too`: standard error goes to the pseudo-terminal as well."""

    def __init__(self, *words, terminal=False, errors_too=False, wrap=(), stdin=subprocess.DEVNULL):
        self.text = {"out": "", "err": ""}
        self.master = None
        command = [*wrap, PROGRAM, "watch", *map(str, words)]
        clean = {k: v for k, v in os.environ.items() if k != "NO_COLOR"}
        if terminal:
            self.master, slave = os.openpty()
            fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
            self.child = subprocess.Popen(command, stdin=slave, stdout=slave, stderr=slave if errors_too else subprocess.PIPE, env={**clean, "TERM": "dumb"},
                                          start_new_session=True, preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0))
            os.close(slave)
            ends = {"out": self.master} | ({} if errors_too else {"err": self.child.stderr.fileno()})
        else:
            self.child = subprocess.Popen(command, stdin=stdin, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=clean, start_new_session=True)
            ends = {"out": self.child.stdout.fileno(), "err": self.child.stderr.fileno()}
        self.readers = [threading.Thread(target=self.collect, args=item, daemon=True) for item in ends.items()]
        for reader in self.readers:
            reader.start()

    def collect(self, name, descriptor):
        try:
            while block := os.read(descriptor, 65536):
                self.text[name] += block.decode("utf-8", "surrogateescape").replace("\r\n", "\n")
        except OSError:  # the other end of a terminal is closed
            pass

    def wait_for(self, pattern, name="out", since=0, limit_s=LIMIT_S):
        """Waits until the text has the pattern after the position `since`, and returns the position after it."""
        deadline = time.monotonic() + limit_s
        while time.monotonic() < deadline:
            if found := re.search(pattern, self.text[name][since:]):
                return since + found.end()
            if self.child.poll() is not None and not any(r.is_alive() for r in self.readers):
                break
            time.sleep(0.01)
        raise AssertionError(f"no {pattern!r} in {self.text[name][since:]!r}; standard error: {self.text['err']!r}")

    def pid(self):
        """The process that measures. A wrapper has it as its child, and with a terminal it is a second process."""
        pid = self.child.pid
        while children := pathlib.Path(f"/proc/{pid}/task/{pid}/children").read_text().split():
            pid = int(children[0])
        return pid

    def type(self, text):
        os.write(self.master, text.encode())

    def end(self, number=signal.SIGINT):
        """Ends the program as Ctrl-C does, which sends the signal to every process of the terminal. Returns the exit status."""
        if self.child.poll() is None:
            if self.master is not None and number == signal.SIGINT:
                self.type("\x03")
            else:
                os.kill(self.pid(), number)
        status = self.child.wait(timeout=LIMIT_S)
        for reader in self.readers:
            reader.join(timeout=10)
        for stream in (self.child.stdout, self.child.stderr):
            if stream:
                stream.close()
        if self.master is not None:
            os.close(self.master)
        return status


class WatchCase(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.place = pathlib.Path(tempfile.mkdtemp())
        cls.addClassCleanup(shutil.rmtree, cls.place, True)
        cls.session = simulated(PROGRAM, cls.place / "session", short_demo(), 7)
        cls.recordings = sorted(cls.session.glob("*.wav"))
        cls.log = (cls.session / "steps.csv").read_text()

    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(dir=self.place)) / "watched"
        self.folder.mkdir()

    def watching(self, *words, **more):
        running = Watching(self.folder, *words, **more)
        self.addCleanup(lambda: running.child.poll() is not None or running.end(signal.SIGKILL))
        return running

    def record(self, index=0, name=None):
        """Puts a finished recording into the folder, by renaming it."""
        target = self.folder / (name or self.recordings[index].name)
        beside = self.folder.parent / "beside"
        shutil.copyfile(self.recordings[index], beside)
        beside.rename(target)
        return target

    def save(self, text, name="steps.csv"):
        """Saves as editors do: writes another file and renames it."""
        beside = self.folder / f".{name}.swp"
        beside.write_bytes(text if isinstance(text, bytes) else text.encode())
        beside.rename(self.folder / name)


class New(WatchCase):
    def test_new_makes_a_log_that_explains_every_column_and_a_session_file(self):
        made = self.folder / "clients" / "larkspur"
        status, out, err = evenwall("new", made)
        self.assertEqual((0, ""), (status, err))
        self.assertIn("steps.csv and session.json were written", out)
        self.assertEqual(["session.json", "steps.csv"], sorted(os.listdir(made)))
        lines = (made / "steps.csv").read_text().splitlines()
        self.assertEqual("capture,tilt_deg,use", lines[-1])
        comments = "\n".join(line for line in lines[:-1])
        self.assertTrue(all(line.startswith("#") for line in lines[:-1]))
        for column in COLUMNS:
            self.assertRegex(comments, rf"(?m)^# {column} +\S")
        documented = re.search(r"^## steps\.csv\n(.*?)^## ", (ROOT / "docs/formats.md").read_text(), re.M | re.S)[1]
        named = {word for row in re.findall(r"^\| (`[^|]*)\|", documented, re.M) for word in re.findall(r"`(\w+)`", row)}
        self.assertEqual(set(COLUMNS), named)
        self.assertTrue(all(len(line) <= 120 for line in lines))

    def test_solve_of_a_new_folder_gives_one_message_about_the_log(self):
        evenwall("new", self.folder)
        status, out, err = evenwall("solve", self.folder)
        self.assertEqual((1, ""), (status, out))
        self.assertRegex(err, r"\Aevenwall: [^\n]*steps\.csv: there are no steps below the header row\. [^\n]*\n\Z")

    def test_the_new_session_file_changes_no_result(self):
        """Empty texts and an empty list are as absent keys: the solution is the same to the last byte."""
        (self.folder / "steps.csv").write_text(self.log)
        for recording in self.recordings:
            os.link(recording, self.folder / recording.name)
        without = evenwall("solve", "--json", self.folder)
        self.assertEqual(0, without[0])
        other = self.folder.parent / "new"
        evenwall("new", other)
        shutil.copy(other / "session.json", self.folder)
        self.assertGreater(len(json.loads((self.folder / "session.json").read_text())), 5)
        self.assertEqual(without, evenwall("solve", "--json", self.folder))

    def test_new_refuses_a_folder_with_a_log_or_a_session_file_and_writes_nothing(self):
        for name in ("steps.csv", "session.json"):
            for make in (lambda path: path.write_text("mine"), lambda path: path.symlink_to("nowhere")):
                with self.subTest(name):
                    folder = pathlib.Path(tempfile.mkdtemp(dir=self.place))
                    make(folder / name)
                    status, out, err = evenwall("new", folder)
                    self.assertEqual((1, ""), (status, out))
                    self.assertRegex(err, rf"\Aevenwall: [^\n]*already holds a session \({name}\)\. Nothing was written\. [^\n]*\n\Z")
                    self.assertEqual([name], os.listdir(folder))

    def test_new_uses_a_folder_that_has_recordings_only(self):
        recording = self.record()
        self.assertEqual(0, evenwall("new", self.folder)[0])
        self.assertEqual(sorted([recording.name, "session.json", "steps.csv"]), sorted(os.listdir(self.folder)))

    def test_new_leaves_nothing_if_a_file_cannot_be_written(self):
        for call in ("linkat:error=EIO:when=2", "fsync:error=EIO:when=3", "mkdir:error=EROFS:when=2"):
            with self.subTest(call):
                wrap = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", f"trace={call.split(':')[0]}", "-e", f"inject={call}"]
                # LeakSanitizer cannot run in a process that strace follows.
                run = subprocess.run([*wrap, PROGRAM, "new", self.folder / "a" / "b"], capture_output=True, text=True, timeout=LIMIT_S,
                                     env={**os.environ, "ASAN_OPTIONS": "detect_leaks=0"})
                self.assertEqual((1, ""), (run.returncode, run.stdout), run.stderr)
                self.assertRegex(run.stderr, r"\Aevenwall: [^\n]+\n\Z")
                self.assertEqual([], os.listdir(self.folder))


class Watch(WatchCase):
    def test_a_session_grows_from_an_empty_folder_to_an_answer(self):
        for wrap in ((), NO_INOTIFY):
            with self.subTest(wrap[:1]):
                self.setUp()
                running = self.watching(wrap=wrap)
                running.wait_for("watches this folder", "err")
                at = 0
                for i, recording in enumerate(self.recordings):
                    self.record(i)
                    at = running.wait_for(rf"(?m)^{recording.name}: left, right and both in phase at 100\d Hz; highest level -\d+\.\d dBFS; .*\n", since=at)
                self.save(self.log)
                running.wait_for("steps.csv: the file was read again", since=at)
                # The log may be read for the answer on the last recording already. No answer has this headline without the log.
                at = running.wait_for(HEADLINE, since=at)
                running.wait_for(r"Verdict \(turn\)[^#]*\n\n", since=at)
                self.assertEqual(130, running.end())
                for recording in self.recordings:
                    self.assertEqual(1, len(re.findall(rf"(?m)^{recording.name}: left", running.text["out"])))
                solved = evenwall("solve", self.folder)[1]
                self.assertIn(solved, running.text["out"])

    def test_a_folder_that_cannot_be_watched_is_refused(self):
        file = self.folder / "file"
        file.write_text("")
        for path, pattern in ((self.folder / "none", "no such folder"), (file, "not a folder")):
            status, out, err = evenwall("watch", path)
            self.assertEqual((1, ""), (status, out))
            self.assertRegex(err, rf"\Aevenwall: [^\n]*{pattern}[^\n]*\. Nothing is watched\. [^\n]*\n\Z")

    def test_an_empty_folder_is_waited_for_in_one_line(self):
        for make in (lambda: None, lambda: evenwall("new", self.folder), lambda: (self.folder / "notes.txt").write_text("x"), lambda: (self.folder / "sub").mkdir()):
            self.setUp()
            make()
            for path in self.folder.iterdir():
                os.utime(path, (1_700_000_000, 1_700_000_000))
            running = self.watching()
            running.wait_for(r"\Aevenwall: [^\n]*: the program watches this folder\. It holds no recording yet\. The program waits for the first one\. Press Ctrl-C to end\.\n", "err")
            time.sleep(1.5)
            self.assertEqual(("", 1), (running.text["out"], running.text["err"].count("\n")), running.text["err"])
            self.record(0)
            running.wait_for("(?m)^step-01.wav: left")
            running.end()
        self.save("capture,tilt_deg\nsub/a.wav,1\n")
        running = self.watching()
        running.wait_for(r"\Aevenwall: [^\n]*: the program watches this folder\. Press Ctrl-C to end\.\n", "err")

    def test_a_folder_of_session_folders_is_refused(self):
        for inner in ("larkspur", "clients/larkspur"):
            self.setUp()
            session = self.folder / inner
            session.mkdir(parents=True)
            shutil.copy(self.recordings[0], session)
            status, out, err = evenwall("watch", self.folder)
            self.assertEqual((1, ""), (status, out))
            self.assertRegex(err, rf"\Aevenwall: {self.folder}: this is a folder of session folders, and one session folder is needed\. Nothing is watched\. [^\n]* {session}\.\n\Z")

    def test_old_files_at_the_start_are_not_taken_for_ones_that_are_being_written(self):
        """A recording whose header never became final, a text with the name of a recording, and a time in the future."""
        bytes_ = bytearray(self.recordings[0].read_bytes())
        at = bytes_.index(b"data") + 4
        bytes_[at:at + 4] = b"\xff\xff\xff\xff"
        (self.folder / "step-01.wav").write_bytes(bytes_)
        (self.folder / "step-02.wav").write_text("no audio")
        for index in range(2, len(self.recordings)):
            self.record(index)
        self.save(self.log)
        for path in self.folder.iterdir():
            os.utime(path, (time.time() - 4,) * 2)
        os.utime(self.folder / "step-03.wav", (time.time() + 3600,) * 2)
        time.sleep(3.1)  # the time since the last change of its entry
        for name in ("step-01.wav", "step-02.wav"):
            os.utime(self.folder / name, (time.time() - 4,) * 2)
        running = self.watching()
        running.wait_for(HEADLINE)
        self.assertNotIn("still being written", running.text["out"] + running.text["err"])
        self.assertIn("header_not_final", running.text["out"])

    def test_files_of_the_start_are_not_reported_as_read_again_and_a_change_is(self):
        self.save(self.log)
        (self.folder / "session.json").write_text("{}")
        for index in range(len(self.recordings)):
            self.record(index)
        running = self.watching()
        at = running.wait_for("Verdict")
        time.sleep(3)  # the files come to rest
        self.assertNotIn("read again", running.text["out"])
        self.save(self.log + "# one more remark\n")
        running.wait_for("steps.csv: the file was read again", since=at)
        self.assertEqual(130, running.end())

    def test_a_recording_is_measured_when_its_program_has_closed_it(self):
        """The recorder pauses for longer than a file needs to count as finished without inotify, and its header is final early."""
        running = self.watching()
        running.wait_for("watches this folder", "err")
        whole = self.recordings[0].read_bytes()
        self.save(self.log)
        running.wait_for("steps.csv: the file was read again")
        with (self.folder / "step-01.wav").open("wb") as file:
            file.write(whole)
            file.flush()
            self.record(1)
            running.wait_for("(?m)^step-02.wav: left")
            time.sleep(2.5)
            at = len(running.text["out"])
            self.save(self.log + "# saved\n")
            running.wait_for("The answer has not changed", since=at)
            self.assertIn("step-01.wav: the recording is still", running.text["out"])
            self.assertNotIn("step-01.wav: left", running.text["out"])
        running.wait_for("(?m)^step-01.wav: left", limit_s=5)

    def test_without_inotify_a_recording_is_measured_when_it_rests_and_its_header_is_final(self):
        running = self.watching(wrap=NO_INOTIFY)
        running.wait_for("watches this folder", "err")
        whole = self.recordings[0].read_bytes()
        with (self.folder / "step-01.wav").open("wb") as file:
            for part in range(4):  # grows between the looks; its header promises more than it holds
                file.write(whole[part * len(whole) // 5:(part + 1) * len(whole) // 5])
                file.flush()
                time.sleep(1.3)
            self.assertNotIn("step-01.wav", running.text["out"])
            file.write(whole[4 * len(whole) // 5:])
        running.wait_for("(?m)^step-01.wav: left.*no warnings", limit_s=10)
        self.assertNotIn("truncated", running.text["out"])

    def test_a_recording_whose_header_never_becomes_final_is_measured_after_a_while(self):
        running = self.watching()
        running.wait_for("watches this folder", "err")
        bytes_ = bytearray(self.recordings[0].read_bytes())
        at = bytes_.index(b"data") + 4
        bytes_[at:at + 4] = b"\xff\xff\xff\xff"
        start = time.monotonic()
        (self.folder / "step-01.wav").write_bytes(bytes_)
        running.wait_for("(?m)^step-01.wav: left.*header_not_final")
        self.assertGreater(time.monotonic() - start, 9)

    def test_only_a_changed_recording_is_measured_again(self):
        """Counts how often the recordings are opened while the log's tilts change, in a trace of the system calls."""
        for i in range(len(self.recordings)):
            self.record(i)
        self.save(self.log)
        trace = self.folder.parent / "trace"
        running = self.watching(wrap=["strace", "-f", "-qq", "-o", trace, "-e", "trace=openat"])
        at = running.wait_for(HEADLINE)
        opened = lambda: len(re.findall(r'openat\([^\n]*\.wav"', trace.read_text()))
        before = opened()
        self.assertGreaterEqual(before, len(self.recordings))
        first = running.text["out"]
        self.save(self.log.replace("step-01.wav,-2", "step-01.wav,-2.1"))
        at = running.wait_for("read again", since=at)
        at = running.wait_for(HEADLINE, since=at)
        time.sleep(0.5)
        self.assertEqual(before, opened())
        self.assertNotEqual(first.split("\n\n")[1], running.text["out"][len(first):].split("\n\n")[1])  # the answer is another one
        os.utime(self.record(1))
        running.wait_for(r"(?m)^step-02.wav: left", since=at)
        self.assertGreater(opened(), before)

    def test_500_changes_in_a_second_are_collected(self):
        for i in range(len(self.recordings)):
            self.record(i)
        self.save(self.log)
        running = self.watching()
        at = running.wait_for(HEADLINE)
        start = time.monotonic()
        for i in range(500):
            self.save(self.log + f"# {i}\n")
        last = self.log.replace("step-01.wav,-2", "step-01.wav,-2.1")
        self.save(last)
        took_s = time.monotonic() - start
        at = running.wait_for(HEADLINE, since=at)  # the answer of the last state
        time.sleep(1)
        rounds = len(re.findall("read again", running.text["out"]))
        self.assertLessEqual(rounds, 3 + 4 * took_s)
        self.assertGreaterEqual(rounds, 1)
        self.assertIn(evenwall("solve", self.folder)[1], running.text["out"])

    def test_the_folder_may_vanish_and_return(self):
        for i in range(len(self.recordings)):
            self.record(i)
        self.save(self.log)
        running = self.watching()
        at = running.wait_for(HEADLINE)
        away = self.folder.with_name("away")
        self.folder.rename(away)
        gone = running.wait_for("cannot be read any more", "err")
        away.rename(self.folder)
        running.wait_for("can be read again", "err", since=gone)
        at = running.wait_for("The answer has not changed", since=at)
        self.assertEqual(1, len(re.findall(r"(?m)^step-01.wav: left", running.text["out"])))  # not measured again
        self.save(self.log.replace("step-01.wav,-2", "step-01.wav,-2.1"))
        at = running.wait_for(HEADLINE, since=at)
        shutil.rmtree(self.folder)  # also while inotify is not in use any more
        gone = running.wait_for("cannot be read any more", "err", since=gone)
        self.folder.mkdir()
        self.record(0)
        self.record(1)
        self.save(self.log)
        running.wait_for("(?m)^step-02.wav: left", since=at)
        running.wait_for(HEADLINE, since=at)
        self.assertEqual(130, running.end())

    def test_a_row_may_name_its_recording_without_the_ending(self):
        for i in range(len(self.recordings)):
            self.record(i)
        self.save(self.log.replace(".wav", ""))
        running = self.watching()
        running.wait_for(HEADLINE)
        self.assertEqual(130, running.end())
        self.assertNotIn("no row", running.text["err"])
        for recording in self.recordings:
            self.assertEqual(1, len(re.findall(rf"(?m)^{recording.name}: left", running.text["out"])))

    def test_in_a_pipe_a_recording_without_a_row_is_named_and_nothing_is_asked_or_written(self):
        rows = [line for line in self.log.splitlines() if not line.startswith("step-03")]
        self.save("\n".join(rows) + "\n")
        before = (self.folder / "steps.csv").read_bytes()
        for i in range(len(self.recordings)):
            self.record(i)
        running = self.watching(stdin=subprocess.PIPE)
        running.child.stdin.write(b"0.5\n")
        running.child.stdin.flush()
        running.wait_for(r"(?m)^evenwall: step-03.wav: steps.csv has no row for this recording\. .*Add a row", "err")
        running.wait_for(HEADLINE)
        self.record(4)
        time.sleep(1.5)
        self.assertEqual(1, running.text["err"].count("no row"))
        self.assertNotIn("type its tilt", running.text["out"] + running.text["err"])
        self.assertEqual(before, (self.folder / "steps.csv").read_bytes())
        running.child.stdin.close()

    def test_json_gives_one_solution_per_line_and_nothing_else(self):
        running = self.watching("--json")
        for i in range(len(self.recordings)):
            self.record(i)
        self.save(self.log)
        running.wait_for(r"(?m)^\{.*\}\n")
        self.save(self.log.replace("step-01.wav,-2", "step-01.wav,-2.1"))
        running.wait_for(r'(?m)^\{.*"capture":"step-01.wav","tilt_deg":-2\.1\b.*\}\n')
        running.wait_for("(?m)^evenwall: step-05.wav: left", "err")
        self.assertEqual(130, running.end())
        documents = [json.loads(line) for line in running.text["out"].splitlines()]
        self.assertEqual({"evenwall/solution/1"}, {d["schema"] for d in documents})
        self.assertEqual(json.loads(evenwall("solve", "--json", self.folder)[1]), documents[-1])

    def test_an_idle_run_uses_less_than_a_hundredth_of_a_core(self):
        for i in range(len(self.recordings)):
            self.record(i)
        self.save(self.log)
        for wrap in ((), NO_INOTIFY):
            with self.subTest(wrap[:1]):
                running = self.watching(wrap=wrap)
                running.wait_for(HEADLINE)
                time.sleep(1)
                stat = pathlib.Path(f"/proc/{running.pid()}/stat")
                ticks = lambda: sum(map(int, stat.read_text().rsplit(")", 1)[1].split()[11:13]))
                before, start = ticks(), time.monotonic()
                time.sleep(8)
                share = (ticks() - before) / os.sysconf("SC_CLK_TCK") / (time.monotonic() - start)
                self.assertLess(share, 0.01)
                running.end()

    def test_it_ends_with_its_reader_and_with_a_signal(self):
        running = self.watching()
        running.wait_for("watches this folder", "err")
        self.assertEqual(143, running.end(signal.SIGTERM))
        reader, writer = os.pipe()
        child = subprocess.Popen([PROGRAM, "watch", self.folder], stdin=subprocess.DEVNULL, stdout=writer, stderr=subprocess.PIPE)
        os.close(writer)
        child.stderr.readline()
        os.close(reader)
        self.assertEqual((0, b""), (child.wait(timeout=10), child.stderr.read()))
        child.stderr.close()

    def test_the_tolerance_decides_the_verdict(self):
        for i in range(len(self.recordings)):
            self.record(i)
        self.save(self.log)
        for words, state in (((), "turn"), (("--tolerance", "2"), "enough")):
            with self.subTest(words):
                running = self.watching(*words)
                running.wait_for(rf"Verdict \({state}\)")
                self.assertEqual(130, running.end())
        self.assertEqual(2, evenwall("watch", self.folder, "--tolerance", "9")[0])

    def test_without_a_log_the_recordings_are_steps_at_unknown_azimuths_and_nothing_is_asked(self):
        for terminal in (False, True):
            with self.subTest(terminal=terminal):
                self.setUp()
                for i in range(3):
                    self.record(i)
                running = self.watching(terminal=terminal)
                running.wait_for(r"Verdict \(\w+\)[^#]*\n\n")
                self.assertEqual(130, running.end())
                self.assertIn(evenwall("solve", self.folder)[1], running.text["out"])
                self.assertNotIn("no row", running.text["err"])
                self.assertNotIn("type its tilt", running.text["out"])
                self.assertEqual(3, len(os.listdir(self.folder)))

    def test_strict_ends_the_run_at_the_first_warning(self):
        for i in range(len(self.recordings)):
            self.record(i)
        self.save(self.log)
        self.save(json.dumps({"gauge_u_deg": 0.02, "colour": 1}), "session.json")
        status, out, err = evenwall("watch", "--strict", "--quiet", self.folder)
        self.assertEqual(1, status)
        self.assertRegex(err, r"\Aevenwall: [^\n]*unknown_key[^\n]*--strict[^\n]*\n\Z")

    def test_a_broken_log_or_session_file_is_reported_and_the_next_good_one_is_solved(self):
        for i in range(len(self.recordings)):
            self.record(i)
        self.save(self.log)
        running = self.watching()
        at = running.wait_for(HEADLINE)
        for name, broken, good in (("steps.csv", "a,b\n1,2\n", self.log), ("session.json", "{", "{}"), ("steps.csv", 'capture,tilt_deg\n"x,1\n', self.log)):
            with self.subTest(broken):
                told = len(running.text["err"])
                self.save(broken, name)
                running.wait_for(rf"evenwall: [^\n]*{name}[^\n]*\n", "err", since=told)
                self.save(good, name)
                at = running.wait_for(HEADLINE, since=at)
        (self.folder / "step-02.wav").unlink()
        at = running.wait_for("step-02.wav: the file is not there any more", since=at)
        running.wait_for(HEADLINE, since=at)
        self.assertNotIn("no row", running.text["err"])


class Terminal(WatchCase):
    def test_a_missing_tilt_is_asked_for_and_added_in_the_style_of_the_log(self):
        logs = {
            b"# mine\ncapture,tilt_deg\nstep-01.wav,-2\n": ("+1,5", b"step-03.wav,+1.5\n"),
            b"\xef\xbb\xbfcapture;tilt_deg;note\r\nstep-01.wav;-2,0;\"a;b\"\r\n": ("1,5", b"step-03.wav;1.5;\r\n"),
            b"tilt_units\tcapture\n1\tstep-01.wav": ("\u22122\u00b0", b"\n-2\tstep-03.wav\n"),
            b"": ("0", b"capture,tilt_deg,use\nstep-03.wav,0,\n"),
            b"capture,tilt_deg,Use\nstep-01.wav,-2,yes\n": ("1,5° Verify", b"step-03.wav,1.5,verify\n"),
            b"use;capture;tilt_units\r\n;step-01.wav;1\r\n": ("2 as found", b"as_found;step-03.wav;2\r\n"),
            b"capture,tilt_deg\nstep-01.wav,0\n": ("1 YES", b"step-03.wav,1\n"),
        }
        for log, (typed, added) in logs.items():
            with self.subTest(log):
                self.setUp()
                (self.folder / "steps.csv").write_bytes(log)
                os.chmod(self.folder / "steps.csv", 0o640)
                self.record(0)
                running = self.watching(terminal=True)
                if not log:
                    running.wait_for(f"step-01.wav: type its tilt[^:]*\n{ASKED}")
                    running.type("\n")
                    running.wait_for("watches", "err")
                self.record(2)
                at = running.wait_for(f"step-03.wav: type its tilt in {'the units' if b'units' in log else 'degrees'}[^:]*\n{ASKED}")
                running.type(typed + "\n")
                running.wait_for("steps.csv: the file was read again", since=at)
                self.assertEqual(log + added, (self.folder / "steps.csv").read_bytes())
                self.assertEqual(0o640, (self.folder / "steps.csv").stat().st_mode & 0o777)
                self.assertEqual(130, running.end())
                self.assertEqual([], [name for name in os.listdir(self.folder) if ".tmp" in name])

    def test_a_wrong_answer_is_asked_again_and_a_blank_one_adds_no_row(self):
        self.save(self.log.split("step-02")[0])
        before = (self.folder / "steps.csv").read_bytes()
        running = self.watching(terminal=True)
        running.wait_for("watches", "err")
        running.type("7\n")  # typed before anything is asked
        time.sleep(0.3)
        self.record(1)
        at = running.wait_for("step-02.wav: type its tilt[^:]*\n" + ASKED)
        for typed, message in (("abc", '"abc" is not a number'), ("90", "tilt_deg is 90; the limit is 45°"), ("0x10", "not a number")):
            running.type(typed + "\n")
            at = running.wait_for(message, since=at)
            at = running.wait_for(ASKED, since=at)
        self.assertEqual(before, (self.folder / "steps.csv").read_bytes())
        self.record(2)
        at = running.wait_for("(?m)^step-03.wav: left", since=at)  # an event in between
        at = running.wait_for("step-02.wav: type its tilt[^:]*\n" + ASKED, since=at)
        running.type("\n")
        at = running.wait_for("step-03.wav: type its tilt[^:]*\n" + ASKED, since=at)
        self.assertEqual(before, (self.folder / "steps.csv").read_bytes())
        self.save(before + b"step-03.wav,0,yes\n")  # the user writes the row in an editor
        at = running.wait_for("read again", since=at)
        time.sleep(0.5)
        self.assertNotIn(ASKED, running.text["out"][at:])
        running.type("5\n")
        time.sleep(0.5)
        self.assertEqual(before + b"step-03.wav,0,yes\n", (self.folder / "steps.csv").read_bytes())
        self.assertEqual(130, running.end())

    def test_the_question_states_the_uses_and_a_verification_closes_the_loop(self):
        self.save(self.log.split("step-05")[0])
        for i in range(4):
            self.record(i)
        running = self.watching(terminal=True)
        at = running.wait_for(HEADLINE)
        self.record(4)
        at = running.wait_for("step-05.wav: type its tilt[^:]*\nThe use may follow the number \\(yes, no, verify or as_found\\), as in 1.5 verify.\n" + ASKED, since=at)
        running.type("2 check\n")
        at = running.wait_for('"check" is not a use. No row was written. After the number, type yes, no, verify or as_found', since=at)
        at = running.wait_for(ASKED, since=at)
        running.type("2 verify\n")
        at = running.wait_for("read again", since=at)
        running.wait_for("Turn from step-05.wav", since=at)
        self.assertEqual(1, len(json.loads(evenwall("solve", "--json", self.folder)[1])["verification"]))

    def test_the_oldest_recording_is_asked_for_first(self):
        self.save("capture,tilt_deg\nstep-01.wav,-2\n")
        self.record(0)
        for index, name, age_s in ((1, "b.wav", 30), (2, "a.wav", 90), (3, "take-9.wav", 300), (4, "take-10.wav", 300)):
            path = self.record(index, name)
            os.utime(path, (1_700_000_000 - age_s,) * 2)
        running = self.watching(terminal=True)
        at = 0
        for name in ("take-9.wav", "take-10.wav", "a.wav", "b.wav"):
            # If an answer was typed while a result was printed, its line ended before the question that the program asked again.
            at = running.wait_for(rf"(?m)^(?:[^\n]*: )?{name}: type its tilt[^:]*\n{ASKED}", since=at)
            running.type("0\n" if name == "a.wav" else "\n")
        self.assertEqual(["take-9.wav", "take-10.wav", "a.wav", "b.wav"], re.findall(r"evenwall: (\S+): steps.csv has no row", running.text["err"]))
        self.assertEqual(["take-9.wav", "take-10.wav", "a.wav", "b.wav"], re.findall(r"(?m)^(?:[^\n]*: )?(\S+\.wav): type its tilt", running.text["out"]))

    def test_a_use_is_refused_if_the_log_has_no_column_for_it(self):
        log = "capture,tilt_deg\nstep-01.wav,-2\n"
        self.save(log)
        self.record(2)
        running = self.watching(terminal=True)
        at = running.wait_for(ASKED)
        self.assertNotIn("The use may follow", running.text["out"])
        running.type("1 verify\n")
        at = running.wait_for("the log has no column use, so the use verify cannot be written[^\n]*\\. No row was written\\. Add the column", since=at)
        running.wait_for(ASKED, since=at)
        self.assertEqual(log, (self.folder / "steps.csv").read_text())

    def test_a_row_that_an_editor_saves_meanwhile_is_kept(self):
        self.save("capture,tilt_deg\nstep-01.wav,-2\n")
        self.record(2)
        running = self.watching(terminal=True)
        running.wait_for(ASKED)
        saved = "capture,tilt_deg\nstep-01.wav,-1.9\nstep-02.wav,-1\n"
        self.save(saved)
        running.type("1\n")
        running.wait_for("read again")
        deadline = time.monotonic() + 10
        while "step-03" not in (self.folder / "steps.csv").read_text() and time.monotonic() < deadline:
            time.sleep(0.05)
        self.assertEqual(saved + "step-03.wav,1\n", (self.folder / "steps.csv").read_text())

    def test_json_on_a_terminal_asks_nothing(self):
        self.save("capture,tilt_deg\nstep-01.wav,-2\n")
        self.record(2)
        running = self.watching("--json", terminal=True)
        running.wait_for("step-03.wav: steps.csv has no row", "err")
        time.sleep(0.5)
        self.assertNotIn("type its tilt", running.text["out"])
        self.assertEqual(130, running.end())


class Bell(WatchCase):
    def ringing(self, *words, **more):
        """Runs until two answers were shown and one log was saved without a change of the answer. Returns the number of BEL characters."""
        self.setUp()
        for i in range(len(self.recordings)):
            self.record(i)
        self.save(self.log)
        for path in self.folder.iterdir():  # old files are finished at the first look
            os.utime(path, (1_700_000_000, 1_700_000_000))
        running = self.watching(*words, **more)
        at = 0
        for tilt in ("-2", "-2.1"):
            if at:
                self.save(self.log.replace("step-01.wav,-2", f"step-01.wav,{tilt}"))
            at = running.wait_for('"verdict"' if "--json" in words else HEADLINE, since=at)
        if "--json" not in words:
            self.save(self.log.replace("step-01.wav,-2", "step-01.wav,-2.1") + "# saved\n")
            at = running.wait_for("The answer has not changed", since=at)
            (self.folder / "session.json").write_text('{"cartridge": "Larkspur no. 3"}')  # a text changes, and no result
            running.wait_for("cartridge: Larkspur no. 3", since=at)
        time.sleep(0.3)
        self.assertEqual(130, running.end())
        return (running.text["out"] + running.text["err"]).count("\a")

    def test_the_bell_rings_after_each_new_verdict_on_request_only(self):
        self.assertEqual(2, self.ringing("--bell", terminal=True, errors_too=True))
        self.assertEqual(0, self.ringing(terminal=True, errors_too=True))

    def test_the_bell_does_not_ring_in_a_pipe_or_with_json(self):
        self.assertEqual(0, self.ringing("--bell", terminal=True))
        self.assertEqual(0, self.ringing("--bell"))
        self.assertEqual(0, self.ringing("--bell", "--json", terminal=True, errors_too=True))


if __name__ == "__main__":
    unittest.main()
