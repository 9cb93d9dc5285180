# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests that each reading that `measure --append` shows is in the file, once, and that a session counts a repeated recording once (rows A)."""
import fcntl
import json
import os
import re
import shutil
import subprocess
import time
import unittest

from bench import PROGRAM, SANITIZED, WITHOUT_LEAK_SEARCH, FaultCase, evenwall, injected

LOG = "capture,tilt_deg\nstep-01.wav,-1.5\nstep-02.wav,0\nstep-03.wav,1\nstep-04.wav,2\n"
TILTS = ("-1.5", "0", "1", "2")


def lines_of(path):
    return [json.loads(line) for line in path.read_text().splitlines()]


class Append(FaultCase):
    """Tests `measure --append`."""

    def setUp(self):
        super().setUp()
        self.readings = self.folder / "bench.jsonl"
        self.assertEqual(0, self.append(self.captures[3]).status)
        self.before = self.readings.read_text()

    def append(self, *words, **more):
        return evenwall("measure", "--tilt-deg", "0.5", *words, "--append", self.readings, **more)

    def shown(self, run):
        """Returns the captures of the readings on standard output, in either view."""
        if run.out.startswith("{"):
            return [json.loads(line)["capture"] for line in run.out.splitlines()]
        return re.findall(r"^(\S+\.wav)$", run.out, re.M)

    def test_A1_a_reading_is_shown_after_it_is_synced(self):
        """Checks the order of the system calls: each reading is written and synced before it appears on standard output."""
        for words in (["--json"], [], ["--json", "--jobs", 3]):
            with self.subTest(words):
                self.readings.write_text(self.before)
                trace = self.folder / "trace"
                wrap = ["strace", *WITHOUT_LEAK_SEARCH, "-f", "-qq", "-o", trace, "-e", "trace=write,fsync", "-e", "signal=none"]
                run = self.append(*words, *self.captures[:3], wrap=wrap)
                self.assertEqual((0, list(map(str, self.captures[:3]))), (run.status, self.shown(run)), run.err)
                calls = re.findall(r"^\d+ +(?:((?:fsync\(|<\.\.\. fsync resumed>).*= 0)|write\((1),)", trace.read_text(), re.M)
                order = "".join("s" if synced else "o" for synced, _ in calls)
                self.assertRegex(order, r"\A(?:so+){3}\Z")

    def assertOnlyFirstKept(self, run, file_is=None):
        """Checks a batch of three captures of which the second could not be kept: the first is shown and in the file, one line names the second."""
        self.assertEqual((1, [str(self.captures[0])]), (run.status, self.shown(run)), run.err)
        self.assertRegex(run.err, r"\Aevenwall: [^\n]+\n\Z")
        self.assertRegex(run.err, "step-02.wav: the reading was not added, and the batch ends here.*bench.jsonl")
        if file_is is None:
            self.assertTrue(self.readings.read_text().endswith("}\n"))
            self.assertEqual([str(self.captures[3]), str(self.captures[0])], [r["capture"] for r in lines_of(self.readings)])

    def test_A1_the_file_may_be_replaced_under_its_lock(self):
        """A script may rewrite the readings under a lock and rename them into place; the reading must be in the file with that name then."""
        with open(self.readings) as held:
            fcntl.flock(held, fcntl.LOCK_EX)
            child = subprocess.Popen([PROGRAM, "measure", "--json", "--tilt-deg", "0.5", self.captures[0], "--append", self.readings], stdout=subprocess.PIPE)
            time.sleep(1.0)
            self.assertIsNone(child.poll(), "the program must wait for the lock")
            other = self.put("other.jsonl", self.before)
            os.rename(other, self.readings)
        self.assertEqual(str(self.captures[0]), json.loads(child.communicate(timeout=20)[0])["capture"])
        self.assertEqual((0, [str(self.captures[3]), str(self.captures[0])]), (child.returncode, [r["capture"] for r in lines_of(self.readings)]))

    def test_A1_a_reading_is_added_once_to_a_long_file(self):
        """The file is longer than the part that is read for comparison; a new reading is still added, and an identical line is not."""
        line = self.before.replace("\n", " " * 1000 + "\n")
        self.readings.write_text(line * (1 + (64 << 20) // len(line)))
        for added in (True, False):
            size = self.readings.stat().st_size
            self.assertEqual(0, self.append("--quiet", self.captures[0]).status)
            self.assertEqual(added, self.readings.stat().st_size > size)
        self.readings.unlink()

    def test_A2_a_reading_that_is_not_stored_is_not_shown(self):
        for fault, found in (("fsync:error=EIO:when=2", "cannot be made safe on the medium: Input/output error"),
                             ("fsync:error=ENOSPC:when=2", "No space left"), ("write:error=ENOSPC:when=2", "cannot be written: No space left"),
                             ("write:error=EIO:when=2", "Input/output error")):
            if SANITIZED and fault.startswith("write"):
                continue  # the sanitizers test memory by write, and they end the program if that fails
            for view in (["--json"], [], ["--json", "--jobs", 3]):
                with self.subTest(fault=fault, view=view):
                    self.readings.write_text(self.before)
                    trace = self.folder / "trace"
                    wrap = injected(fault, first_process_only=True)
                    wrap[wrap.index("/dev/null")] = trace
                    run = self.append(*view, *self.captures[:3], wrap=wrap)
                    self.assertOnlyFirstKept(run)
                    self.assertIn(found, run.err)
                    self.assertEqual(2, trace.read_text().count(fault.split(":")[0] + "("), "a failed call must not be tried again")
                    again = self.append(*view, *self.captures[:3])
                    self.assertEqual((0, 4), (again.status, len(lines_of(self.readings))), again.err)

    def test_A2_a_partial_line_that_cannot_be_removed_is_reported(self):
        run = self.append("--json", *self.captures[:3], wrap=injected("fsync:error=EIO:when=2", "ftruncate:error=EIO:when=1", first_process_only=True))
        self.assertOnlyFirstKept(run, file_is="said")
        size = len(self.readings.read_text().splitlines(keepends=True)[2])
        self.assertIn(f"{size} of the line's {size} bytes are in the file", run.err)

    def test_A3_repeated_commands_add_nothing(self):
        for name in ("copy.wav", "again.flac"):
            self.made(self.captures[3], self.folder / name)
        for capture in (self.captures[3], self.folder / "copy.wav", self.folder / "again.flac"):
            for view in (["--json"], []):
                run = self.append(*view, capture)
                self.assertEqual((0, self.before), (run.status, self.readings.read_text()), run.err)
                self.assertRegex(run.err, rf"{capture.name}: \S*bench.jsonl already holds this reading.* It was not added again")
                self.assertIn(capture.name, run.out)
        self.assertEqual("", self.append(self.captures[3], "--quiet").err)
        for number, words in enumerate((["--use", "no"], ["--tilt-u", "0.1"], ["--session", self.session / "session.json"])):
            self.assertEqual(0, self.append(*words, self.captures[3]).status)
            self.assertEqual(2 + number, len(lines_of(self.readings)), words)
        self.assertEqual(0, evenwall("measure", "--tilt-deg", "0.6", self.captures[3], "--append", self.readings).status)
        self.assertEqual(5, len(lines_of(self.readings)))

    def test_A3_a_repeat_in_one_batch_is_added_once(self):
        run = self.append("--json", *[self.captures[0]] * 5)
        self.assertEqual((0, 2), (run.status, len(lines_of(self.readings))), run.err)

    def test_A3_other_lines_do_not_matter(self):
        torn = self.before + '{"schema": "evenwall/reading/1", "capt\n' + "\n"
        self.readings.write_text(torn)
        run = self.append("--json", self.captures[3])
        self.assertEqual((0, torn), (run.status, self.readings.read_text()), run.err)

    def test_A3_simultaneous_runs_add_one_line(self):
        self.readings.unlink()
        from bench import PROGRAM
        words = [PROGRAM, "measure", "--json", "--tilt-deg", "1", str(self.captures[0]), "--append", str(self.readings)]
        children = [subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) for _ in range(8)]
        self.assertEqual({0}, {child.wait() for child in children})
        self.assertEqual(1, len(lines_of(self.readings)))

    def test_A4_strict_shows_nothing_that_is_not_stored(self):
        mono = self.put("clipped.wav", self.good[:-2000])
        run = self.append("--json", "--strict", mono)
        self.assertEqual((1, "", self.before), (run.status, run.out, self.readings.read_text()), run.err)
        self.assertRegex(run.err, "clipped.wav: the warning truncated fails the run under --strict. The reading was not added")

    def made(self, source, target):
        if target.suffix == ".flac":
            subprocess.run(["flac", "--silent", "-o", target, source], check=True)
        else:
            shutil.copy(source, target)


class Repeated(FaultCase):
    """Tests sessions that contain a recording more than once."""

    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        run = evenwall("solve", "--json", cls.session)
        assert run.status == 0, run.err
        cls.plain = run.json()
        cls.lines = []
        for capture, tilt in zip(cls.captures, TILTS):
            one = evenwall("measure", "--json", capture.name, "--tilt-deg", tilt, "--session", "session.json", cwd=cls.session)
            assert one.status == 0, one.err
            cls.lines.append(one.out)

    def assertSame(self, run, expected, code):
        """Checks that the answer equals `expected` to the last digit, and that one warning with this code was added."""
        self.assertEqual(0, run.status, run.err)
        document = run.json()
        for key in ("recommended", "equal_crosstalk", "least_crosstalk", "phase_match", "uncertainty", "curves", "repeatability"):
            self.assertEqual(expected.get(key), document.get(key), key)
        self.assertEqual(sorted([w["code"] for w in expected["warnings"]] + [code]), sorted(w["code"] for w in document["warnings"]))
        return document

    def test_A5_ten_copies_count_as_one(self):
        plain = evenwall("solve", "--json", self.put("plain.jsonl", "".join(self.lines))).json()
        text = "".join(self.lines + [self.lines[1]] * 9)
        self.assertSame(evenwall("solve", "--json", self.put("ten.jsonl", text)), plain, "duplicate_reading")
        self.assertSame(evenwall("solve", "--json", "-", stdin=text.encode()), plain, "duplicate_reading")
        named = "".join(self.lines + [self.lines[1].replace("step-02.wav", f"copy-{n}.wav") for n in range(9)])
        document = self.assertSame(evenwall("solve", "--json", "-", stdin=named.encode()), plain, "duplicate_reading")
        self.assertEqual(4, len(document["steps"]))
        message = next(w["message"] for w in document["warnings"] if w["code"] == "duplicate_reading")
        self.assertRegex(message, "step-02.wav: .*10 times, also as copy-0.wav and 8 more")
        self.assertEqual(1, evenwall("solve", "--strict", "-", stdin=text.encode()).status)

    def test_A5_repeated_rows_of_a_log_count_as_one(self):
        for name, add in self.other_names().items():
            with self.subTest(name):
                folder = self.broken_session(LOG)
                row = add(folder)
                (folder / "steps.csv").write_text(LOG + "".join(f"{row},0.{'0' * n}\n" for n in range(1, 10)))
                self.assertSame(evenwall("solve", "--json", folder), self.plain, "duplicate_reading")

    def other_names(self):
        """Returns ways to name step-02.wav again: each makes the file in the session's folder and returns the name."""
        def link(folder):
            os.link(folder / "step-02.wav", folder / "hard.wav")
            return "hard.wav"

        def symbolic(folder):
            os.symlink("step-02.wav", folder / "soft.wav")
            return "soft.wav"

        def copy(folder):
            shutil.copy(folder / "step-02.wav", folder / "copy.wav")
            return "copy.wav"

        def flac(folder):
            subprocess.run(["flac", "--silent", "-o", folder / "copy.flac", folder / "step-02.wav"], check=True)
            return "copy.flac"
        return {"itself": lambda folder: "step-02.wav", "dot": lambda folder: "./step-02.wav", "up": lambda folder: f"../{folder.name}/step-02.wav",
                "hard link": link, "symbolic link": symbolic, "copy": copy, "FLAC": flac}

    def test_A6_a_recording_at_a_second_tilt_is_excluded(self):
        for name, add in self.other_names().items():
            with self.subTest(name):
                folder = self.broken_session(LOG)
                row = add(folder)
                (folder / "steps.csv").write_text(LOG + f"{row},1.2\n")
                # The same name, or the same name after ./, is found in the log before the capture is measured.
                code = "step_unreadable" if name in ("itself", "dot") else "same_recording"
                document = self.assertSame(evenwall("solve", "--json", folder), self.plain, code)
                message = next(w["message"] for w in document["warnings"] if w["code"] == code)
                self.assertRegex(message, "in use by line 3" if code == "step_unreadable" else "step-02.wav, which is logged at tilt_deg 0")
                self.assertEqual([-1.5, 0, 1, 2], [s["tilt_deg"] for s in document["steps"]])

    def test_A6_a_reading_at_a_second_tilt_is_excluded(self):
        plain = evenwall("solve", "--json", self.put("plain.jsonl", "".join(self.lines))).json()
        other = json.loads(self.lines[1])
        other["tilt_deg"] = 1.2
        run = evenwall("solve", "--json", self.put("two.jsonl", "".join(self.lines) + json.dumps(other) + "\n"))
        self.assertSame(run, plain, "same_recording")

    def test_A7_steps_that_are_not_duplicates_are_kept(self):
        used = "capture,tilt_deg,use\n" + "".join(line + ",yes\n" for line in LOG.splitlines()[1:])
        with_as_found = evenwall("solve", "--json", self.broken_session(used + "step-01.wav,-1.5,as_found\n"))
        document = with_as_found.json()
        self.assertEqual([w["code"] for w in self.plain["warnings"]], [w["code"] for w in document["warnings"]])
        self.assertEqual(("step-01.wav", self.plain["recommended"]), (document["as_found"]["capture"], document["recommended"]))
        verified = evenwall("solve", "--json", self.broken_session(used + "step-02.wav,0,verify\n"))
        self.assertSame(verified, self.plain, "same_recording")
        struck_out = self.put("no.jsonl", "".join(self.lines) + json.dumps({**json.loads(self.lines[1]), "tilt_deg": 5, "use": "no"}) + "\n")
        self.assertNotIn("same_recording", evenwall("solve", "--json", struck_out).warnings())
        meter = "tilt_deg,right_into_left_db,left_into_right_db\n" + "".join(f"{t},{-30 - t},{-31 + t}\n" for t in (-1, 0, 0, 0, 1))
        run = evenwall("solve", "--json", self.put("meter.csv", meter))
        self.assertEqual((0, 5), (run.status, len(run.json()["steps"])), run.err)
        self.assertNotIn("duplicate_reading", run.warnings())


if __name__ == "__main__":
    unittest.main()
