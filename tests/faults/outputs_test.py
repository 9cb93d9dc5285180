# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests outputs that would destroy a user's file: inputs under another name, recordings, logs, protected files, files of other programs."""
import fcntl
import json
import os
import pathlib
import shutil
import signal
import stat
import subprocess
import time
import unittest

from bench import OLD, PROGRAM, SCENARIO, FaultCase, await_readiness, evenwall, injected

SOMEBODY = 65534
UNCHANGED = "Nothing was written"
A_READING = '{"schema":"evenwall/reading/1"}\n'


def temporary_name(path, inode):
    """Returns the name that the program gives to an unfinished file."""
    digits, rest = "", inode
    while rest:
        digits = "0123456789abcdefghijklmnopqrstuvwxyz"[rest % 36] + digits
        rest //= 36
    return path.parent / f".{path.name}.tmp-{digits}-abc123"


class LockCase(FaultCase):
    """Provides checks for a program that waits for a file lock of the test."""

    def assertWaitsForLock(self, child, path):
        """While the program retries the lock, it holds the file open, longer than any check does: more than 0.3 s."""
        deadline, held_since = time.monotonic() + 30, None
        while time.monotonic() < deadline and child.poll() is None:
            now = time.monotonic()
            held_since = (held_since or now) if self.has_open(child.pid, path) else None
            if held_since and now - held_since > 0.3:
                return
            time.sleep(0.01)
        self.fail("the program does not wait for the lock")

    def has_open(self, pid, path):
        try:
            return any(os.path.samefile(fd, path) for fd in pathlib.Path(f"/proc/{pid}/fd").iterdir() if fd.exists())
        except OSError:
            return False  # the file was closed during the check


class Inputs(LockCase):
    """Tests outputs that are inputs."""

    def assertKept(self, path, words, *patterns, stdin=b"", **more):
        """Checks that the run is refused and that the file is unchanged."""
        before = path.read_bytes()
        run = evenwall(*words, stdin=stdin, watch=self.folder, **more)
        self.assertRefused(run, *patterns)
        self.assertEqual(before, path.read_bytes())

    def test_F29_standard_input(self):
        readings = self.put("r.jsonl", evenwall("measure", "--json", *self.captures).out)
        solution = self.put("s.json", evenwall("solve", "--json", self.session).out)
        capture = self.put("a.raw", self.good)
        for path, words in ((capture, ["measure", "-", "-o", capture]), (capture, ["measure", "-", "--append", capture]), (readings, ["solve", "-", "-o", readings]),
                            (solution, ["report", "-", "-o", solution]), (capture, ["calibrate", "-", "-o", capture])):
            os.link(path, self.folder / "other-name")
            for output in (path, self.folder / "other-name"):
                with self.subTest(words, output=output), open(path, "rb") as given:
                    self.assertKept(path, [*words[:-1], output], "is also an input", stdin=given)
            (self.folder / "other-name").unlink()

    def test_F29_a_descriptor_as_input(self):
        capture = self.put("a.raw", self.good)
        for name in ("/dev/fd/{}", "/proc/self/fd/{}"):
            with self.subTest(name), open(capture, "rb") as given:
                number = given.fileno()
                os.set_inheritable(number, True)
                line = f'exec "{PROGRAM}" measure {name.format(number)} -o "{capture}"'
                run = subprocess.run(["sh", "-c", line], capture_output=True, text=True, pass_fds=[number])
                self.assertEqual((1, self.good), (run.returncode, capture.read_bytes()))
                self.assertRegex(run.stderr, "a.raw: this file is also an input")

    def test_F29_recordings_by_name(self):
        """With `measure -o *.wav` the shell makes the first recording the output."""
        names = [self.put(f"{n}.wav", self.good) for n in "abc"]
        self.assertKept(names[0], ["measure", "-o", *names], "a.wav: this is the name of a recording", UNCHANGED)
        self.assertKept(names[0], ["measure", "--append", *names], "a.wav: this is the name of a recording", UNCHANGED)
        for extension in ("wav", "WAVE", "rf64", "bw64", "w64", "aif", "Aiff", "aifc", "flac", "mp3", "ogg", "opus", "m4a", "caf", "au"):
            for flag in ("-o", "--append"):
                with self.subTest(extension, flag=flag):
                    run = evenwall("measure", self.capture, flag, self.folder / f"new.{extension}", watch=self.folder)
                    self.assertRefused(run, "name of a recording", UNCHANGED)
        os.symlink("a.wav", self.folder / "link.json")
        self.assertKept(names[0], ["measure", names[1], "-o", self.folder / "link.json"], "link.json", UNCHANGED)
        for words in (["solve", self.session], ["calibrate", self.capture], ["survey", self.session], ["report", self.session / "truth.json"]):
            with self.subTest(words):
                self.assertKept(names[0], [*words, "-o", names[0]], "name of a recording", UNCHANGED)

    def test_F29_recordings_by_content(self):
        kinds = {"RIFF": self.good, "RF64": b"RF64" + self.good[4:], "W64": b"riff\x2e\x91\xcf\x11" + bytes(40), "AIFF": b"FORM" + bytes(40), "FLAC": b"fLaC" + bytes(40),
                 "Ogg": b"OggS" + bytes(40), "MP3": b"\xff\xfb\x90\x64" + bytes(40), "ID3": b"ID3\x04" + bytes(40), "MP4": b"\0\0\0\x20ftypM4A " + bytes(40),
                 "CAF": b"caff" + bytes(40), "AU": b".snd" + bytes(40), "BW64": b"BW64" + bytes(40)}
        for kind, content in kinds.items():
            with self.subTest(kind):
                path = self.put("take 3", content)
                self.assertKept(path, ["measure", self.capture, "-o", path], "take 3: the file holds audio", UNCHANGED)
                self.assertKept(path, ["measure", self.capture, "--append", path], "take 3: the file holds something other than readings", UNCHANGED)

    def test_F29_files_written_by_hand_are_not_replaced(self):
        facts, log = (self.session / "session.json").read_text(), (self.session / "steps.csv").read_text()
        meter = "tilt_deg,right_into_left_db,left_into_right_db\n-1,-30,-26\n0,-32,-30\n1,-30,-34\n"
        scenario = (self.shared / "scenario.json").read_text()
        for name, content, kind in (("session.json", facts, "a session"), ("steps.csv", log, "a step log"), ("meter.csv", meter, "a meter table"),
                                    ("notes", "\ufeff# by hand\r\n\r\n" + log.replace(",", ";").replace("\n", "\r\n"), "a step log"),
                                    ("rig.json", json.dumps(json.loads(scenario), indent=1), "a scenario")):
            path = self.put(name, content)
            with self.subTest(name):
                for words in (["measure", self.capture], ["solve", self.session], ["survey", self.session]):
                    self.assertKept(path, [*words, "-o", path], f"{name}: the file holds {kind}", UNCHANGED)
                self.assertKept(path, ["measure", self.capture, "--append", path], "something other than readings", UNCHANGED)

    def test_F29_only_readings_are_added_to(self):
        solution = evenwall("solve", "--json", self.session).out
        for content in (solution, "a note\n", "{\n", '{"a":1}\n', '{"schema":"evenwall/survey/1"}\n', "\n\n# a note\n", '{"torn', "\0\0"):
            path = self.put("mine.txt", content)
            with self.subTest(content[:20]):
                self.assertKept(path, ["measure", self.capture, "--append", path], "mine.txt: the file holds something other than readings", UNCHANGED)
        for content in ("", "\n \n", A_READING, "\n" + A_READING, "\ufeff" + A_READING, '{"schema":"evenw', '{"sch\n' + A_READING, A_READING + '{"torn',
                        '{ "capture": "a", "schema": "evenwall/reading/1" }\n'):
            path = self.put("mine.txt", content)
            with self.subTest(content[:20]):
                self.assertEqual(0, evenwall("measure", self.capture, "--append", path).status)
                text = path.read_text()
                self.assertTrue(text.startswith(content))
                self.assertEqual(str(self.capture), json.loads(text.splitlines()[-1])["capture"])

    def test_F29_the_content_is_examined_under_the_lock(self):
        """Another program writes to the file while --append waits for the lock."""
        path = self.put("mine.txt", "")
        with open(path, "r+") as held:
            fcntl.flock(held, fcntl.LOCK_EX)
            child = subprocess.Popen([PROGRAM, "measure", self.capture, "--append", path], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
            self.assertWaitsForLock(child, path)
            held.write("a note\n")
        self.assertRegex(child.communicate(timeout=20)[1], "something other than readings")
        self.assertEqual((1, "a note\n"), (child.returncode, path.read_text()))

    def test_D9_outputs_of_the_program_are_replaced(self):
        survey = self.folder / "archive"
        survey.mkdir()
        for name in ("a", "b"):
            document = evenwall("solve", "--json", self.session).json()
            (survey / f"{name}.json").write_text(json.dumps({**document, "session": {**document["session"], "cartridge": name}}))
        for words in (["solve", "--csv", self.session], ["solve", "--steps-csv", self.session], ["solve", "--table", self.session],
                      ["solve", "--full", self.session], ["solve", "--json", self.session], ["survey", "--csv", survey], ["survey", "--json", survey], ["measure", self.capture],
                      ["measure", "--json", self.capture], ["report", survey / "a.json"]):
            with self.subTest(words):
                target = self.folder / "x.out"
                for _ in range(2):
                    self.assertEqual(0, evenwall(*words, "--quiet", "-o", target).status)
                target.unlink()


    def test_F29_one_new_file_for_both_outputs_is_refused(self):
        """The file does not exist yet and has two different names: the text would replace the reading that was added."""
        (self.folder / "inner").mkdir()
        for one, other in (("new.jsonl", "./new.jsonl"), ("new.jsonl", self.folder / "new.jsonl"), ("new.jsonl", "inner/../new.jsonl"), (".//new.jsonl", "new.jsonl")):
            with self.subTest(f"{one} {other}"):
                run = evenwall("measure", self.capture, "--append", one, "-o", other, cwd=self.folder)
                self.assertRefused(run, "-o and --append name the same file")
                self.assertFalse((self.folder / "new.jsonl").exists())

    def test_A1_readings_are_not_replaced(self):
        """An output that is not a reading must not replace readings; `measure --json` may write readings over them."""
        kept = self.folder / "bench.jsonl"
        self.assertEqual(0, evenwall("measure", self.capture, "--tilt-deg", "1", "--append", kept).status)
        before = kept.read_bytes()
        torn = self.put("torn.jsonl", before[:300] + b"\n" + before)
        truth, calibration = self.put("truth.json", '{"schema":"evenwall/truth/1"}'), self.put("calibration.json", '{\n "schema": "evenwall/calibration/1"}')
        for words in (["measure", self.capture], ["solve", "--json", self.session], ["solve", "--csv", self.session], ["solve", "--steps-csv", self.session]):
            for target in (kept, torn, truth, calibration):
                with self.subTest(f"{words[0]} {target.name}"):
                    text = target.read_bytes()
                    self.assertRefused(evenwall(*words, "-o", target), "which the output would replace", "Nothing was written")
                    self.assertEqual(text, target.read_bytes())
        self.assertEqual(before, kept.read_bytes())
        for _ in range(2):
            self.assertEqual(0, evenwall("measure", "--json", "--quiet", self.capture, "-o", kept).status)

    def test_D4_a_dash_is_standard_output(self):
        run = evenwall("solve", "--json", "--quiet", self.session, "-o", "-", cwd=self.folder)
        self.assertEqual(evenwall("solve", "--json", "--quiet", self.session).out, run.out)
        self.assertFalse((self.folder / "-").exists())


class Foreign(LockCase):
    """Tests that files of the user and of other programs survive."""

    def test_S5_files_of_the_user_with_temporary_names_survive_a_signal(self):
        """The file that --append waits for, and one inherited from the shell, have names like the program's temporary files."""
        for number, status in ((signal.SIGTERM, 143), (signal.SIGINT, 130), (signal.SIGHUP, 129)):
            lines = self.put(".x.tmp-B.jsonl", A_READING)
            with open(lines, "r+") as held:
                fcntl.flock(held, fcntl.LOCK_EX)
                child = subprocess.Popen([PROGRAM, "measure", self.capture, "--append", lines], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
                self.assertWaitsForLock(child, lines)
                child.send_signal(number)
                self.assertEqual(status, child.wait(timeout=20))
            self.assertEqual(A_READING, lines.read_text())
        mine, fifo = self.put(".y.tmp-abc123", "mine"), self.folder / "stalls"
        os.mkfifo(fifo)
        with open(mine, "r+") as given:
            os.set_inheritable(given.fileno(), True)
            child = subprocess.Popen([PROGRAM, "measure", fifo, "-o", self.folder / "out.json"], pass_fds=[given.fileno()], stderr=subprocess.DEVNULL)
            await_readiness(child.pid)
            child.send_signal(signal.SIGTERM)
            self.assertEqual((143, "mine"), (child.wait(timeout=20), mine.read_text()))

    def test_S6_only_old_temporary_files_of_the_program_are_removed(self):
        """The program removes only files that are old, are not locked, have one link, and have their own inode number in their names."""
        target = self.put("report.json", OLD)
        ours, copied, linked, held, young = (self.put(f"made{n}", "half") for n in range(5))
        ours, copied, linked, held, young = (p.rename(temporary_name(target, p.stat().st_ino)) for p in (ours, copied, linked, held, young))
        users = [self.put(name, "mine") for name in (".report.json.tmp-backup", ".report.json.tmp-abc123", ".report.json.tmp-1z-abc123", ".other.json.tmp-abc123")]
        shutil.copy(copied, self.folder / "a copy")
        (self.folder / "a copy").rename(copied)
        os.link(linked, self.folder / "kept")
        with open(held) as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            for path in (ours, copied, linked, held, *users):
                os.utime(path, (time.time() - 7200,) * 2)
            self.assertEqual(0, evenwall("measure", "--json", self.capture, "-o", target).status)
        self.assertFalse(ours.exists())
        self.assertEqual([], [str(path) for path in (copied, linked, held, young, *users) if not path.exists()])

    def test_S6_temporary_files_with_names_are_removed_later(self):
        """There the temporary file has a name: a signal removes it, kill -9 leaves it, and a later run removes it."""
        target, made = self.put("out.json", OLD), self.folder / "made"
        made.mkdir()
        run = evenwall("measure", "--json", self.capture, "-o", target, wrap=injected("openat:error=EOPNOTSUPP:when=1+", path=self.folder))
        self.assertRegex(run.err, "its folder cannot be made safe")  # the fault also hits the folder; the file is in place
        self.assertEqual("evenwall/reading/1", json.loads(target.read_text())["schema"])
        self.put("long.json", json.dumps({**SCENARIO, "record": {"bands": [{"band": "left", "duration_s": 400}, {"band": "right", "duration_s": 400}]}}))
        for number in (signal.SIGTERM, signal.SIGKILL):
            tracer = subprocess.Popen([*injected("openat:error=EOPNOTSUPP:when=2", path=made), PROGRAM, "simulate", "--scenario", self.folder / "long.json", "-o", made])
            deadline = time.monotonic() + 60
            while not (left := list(made.glob(".*.tmp-[!0]*"))) and time.monotonic() < deadline:  # number 0: it is still being made
                time.sleep(0.005)
            self.assertEqual([temporary_name(made / "step-01.wav", left[0].stat().st_ino).name[:-6]], [p.name[:-6] for p in left])
            os.kill(int(pathlib.Path(f"/proc/{tracer.pid}/task/{tracer.pid}/children").read_text().split()[0]), number)
            tracer.wait(timeout=20)
            self.assertEqual(number == signal.SIGKILL, bool(os.listdir(made)))
        left = left[0]
        self.assertEqual((0, True), (evenwall("simulate", "--scenario", self.shared / "scenario.json", "-o", made).status, left.exists()), "a new temporary file must not be removed")
        for path in made.glob("[st]*"):
            path.unlink()
        os.utime(left, (time.time() - 7200,) * 2)
        self.assertEqual((0, False), (evenwall("simulate", "--scenario", self.shared / "scenario.json", "-o", made).status, left.exists()))

    def test_D9_protected_files(self):
        for mode in (0o444, 0o400, 0o000, 0o040):
            target = self.put("out.json", A_READING)
            os.chmod(target, mode)
            for flag in ("-o", "--append"):
                with self.subTest(oct(mode), flag=flag):
                    run = evenwall("measure", "--json", self.capture, flag, target, watch=self.folder)
                    self.assertRefused(run, "out.json: .*write-protected", UNCHANGED)
            target.unlink()
        if os.geteuid() != 0:
            self.skipTest("only root can change the owner of a file")
        target = self.put("out.json", OLD)
        os.chmod(target, 0o666)
        os.chown(target, SOMEBODY, -1)
        self.assertRefused(evenwall("measure", "--json", self.capture, "-o", target, watch=self.folder), "belongs to another user", UNCHANGED)
        self.assertEqual((SOMEBODY, OLD), (target.stat().st_uid, target.read_text()))
        target.write_text(A_READING)  # adding a line does not change the owner
        self.assertEqual(0, evenwall("measure", "--json", self.capture, "--append", target).status)
        self.assertEqual((SOMEBODY, 2), (target.stat().st_uid, len(target.read_text().splitlines())))

    def test_D9_the_group_is_kept(self):
        target = self.put("out.json", OLD)
        if os.geteuid() != 0:
            self.skipTest("only root has a second group for certain")
        os.chown(target, -1, 1234)
        os.chmod(target, 0o640)
        self.assertEqual(0, evenwall("measure", "--json", self.capture, "-o", target).status)
        self.assertEqual((1234, 0o640), (target.stat().st_gid, stat.S_IMODE(target.stat().st_mode)))

    def test_D4_a_link_of_another_user_is_not_followed(self):
        """In a sticky folder that all users may write to, a link of another user is not followed; one's own and the folder owner's are followed."""
        if os.geteuid() != 0:
            self.skipTest("only root can make another user's link")
        shared = self.folder / "shared"
        shared.mkdir()
        os.chmod(shared, 0o1777)
        for owner, folder_owner, followed in ((SOMEBODY, 0, False), (0, 0, True), (SOMEBODY, SOMEBODY, True), (0, SOMEBODY, True)):
            for name, content in (("to-be.json", None), ("real.json", OLD)):
                with self.subTest(owner=owner, folder_owner=folder_owner, name=name):
                    target = self.folder / name
                    if content:
                        target.write_text(content)
                    link = shared / "out.json"
                    os.symlink(target, link)
                    os.lchown(link, owner, -1)
                    os.chown(shared, folder_owner, -1)
                    run = evenwall("measure", "--json", self.capture, "-o", link, watch=self.folder)
                    if followed:
                        self.assertEqual((0, "evenwall/reading/1"), (run.status, json.loads(target.read_text())["schema"]), run.err)
                    else:
                        self.assertRefused(run, "another user put into a folder", UNCHANGED)
                        self.assertRefused(evenwall("measure", self.capture, "--append", link, watch=self.folder), "another user put into a folder", UNCHANGED)
                    link.unlink()
                    target.unlink(missing_ok=True)


if __name__ == "__main__":
    unittest.main()
