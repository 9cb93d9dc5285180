# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests the program on sessions as people keep them: known keys of session.json, names that are almost right, a record in place of
electronics, streams, several settings in one recording, and one setting in two."""
import json
import pathlib
import shutil
import signal
import struct
import subprocess
import sys
import unittest

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "faults"))
from bench import PROGRAM, SCENARIO, FaultCase, await_readiness, evenwall, injected  # noqa: E402

FACTS = {"client": "M. Fenn", "workshop": "Lower Mill", "notes": "new belt", "cartridge_model": "Larkspur Mk 2", "vtf_mn": 17.5,
         "anti_skate": "1.5 of 3", "temperature_c": 21, "gauge_certificate": "G-114", "tolerance_deg": 0.1}


class Names(FaultCase):
    def test_a_recording_that_is_not_there_suggests_the_nearest_name(self):
        log = "capture,tilt_deg\nstep-01.wav,-1.5\nStep-2.wav,0\nstep-03.wav,1\nlateral.wav,2\n"
        run = self.solve(log)
        told = [w["message"] for w in run.json()["warnings"] if w["code"] == "step_unreadable"]
        self.assertEqual(2, len(told), run.err)
        self.assertTrue(told[0].endswith(" Check the name. The nearest name in its folder is step-02.wav."), told[0])
        self.assertNotIn("nearest", told[1])
        for command in ("measure", "calibrate"):
            run = evenwall(command, self.session / "step_01.wav")
            self.assertEqual(1, run.status)
            self.assertIn("The nearest name in its folder is step-01.wav.", run.err)
        run = evenwall("solve", str(self.session)[:-1])
        self.assertEqual(1, run.status)
        self.assertIn("The nearest name in its folder is session.", run.err)

    def test_a_recording_may_be_named_without_its_ending(self):
        expected = self.solve("capture,tilt_deg\nstep-01.wav,-1.5\nstep-02.wav,0\nstep-03.wav,1\n").json()
        log = "capture,tilt_deg\nstep-01,-1.5\n./step-02,0\nstep-03.wav,1\n"
        document = self.solve(log).json()
        self.assertEqual(["step-01.wav", "./step-02.wav", "step-03.wav"], [step["capture"] for step in document["steps"]])
        self.assertEqual(expected["recommended"], document["recommended"])
        folder = self.broken_session(log)
        (folder / "step-01.flac").write_bytes(self.good)  # now the name fits two recordings
        run = evenwall("solve", "--json", folder)
        self.assertRegex(run.err, r"step-01: [^\n]* step-01\.flac and step-01\.wav have this name\. Write the ending in the log\.")
        self.assertEqual(["./step-02.wav", "step-03.wav"], [step["capture"] for step in run.json()["steps"]])
        folder = self.broken_session("capture,tilt_deg\nstep-01,-1.5\nstep-02,0\n")
        self.assertRefused(evenwall("solve", folder, "-o", folder / "step-01.wav", watch=folder), "this file is also an input")

    def test_only_the_first_missing_recordings_suggest_a_name(self):
        rows = "".join(f"step-{n:02}.wav,{n % 9 / 2}\n" for n in range(1, 61))
        run = self.solve("capture,tilt_deg\n" + rows)
        messages = [step for step in run.json()["warnings"] if "nearest" in step["message"]]
        self.assertEqual(20, len(messages))

    def test_wrong_commands_and_options_suggest_the_nearest_one(self):
        for words, nearest in ((["slove", self.session], "command is solve"), (["solve", self.session, "--guage-u", "0.1"], "option is --gauge-u"),
                               (["measure", self.capture, "--frequncy=1000"], "option is --frequency")):
            with self.subTest(words):
                run = evenwall(*words)
                self.assertEqual((2, ""), (run.status, run.out))
                self.assertRegex(run.err, rf"\Aevenwall: [^\n]+\. The nearest {nearest}\. See evenwall --help\.\n\Z")
        self.assertNotIn("nearest", evenwall("conjure").err)


class Facts(FaultCase):
    def solution(self, **more):
        known = json.loads((self.session / "session.json").read_text())
        run = self.solve(None, json.dumps({**known, **FACTS, **more}))
        self.assertEqual(0, run.status, run.err)
        return run

    def test_the_keys_for_the_client_reach_the_solution_and_the_page(self):
        run = self.solution()
        document = run.json()
        self.assertEqual(FACTS, {key: document["session"][key] for key in FACTS})
        self.assertNotIn("unknown_key", run.warnings())
        page = evenwall("report", "-", stdin=run.raw)
        self.assertEqual(0, page.status, page.err)
        for shown in ("M. Fenn", "Lower Mill", "new belt", "Larkspur Mk 2", "17.5 mN", "1.5 of 3", "21 °C", "G-114"):
            self.assertIn(shown, page.out)

    def test_an_unknown_key_is_named_but_not_on_the_page(self):
        run = self.solution(collour="red")
        self.assertIn("unknown_key", run.warnings())
        self.assertNotIn("/collour", evenwall("report", "-", stdin=run.raw).out)

    def test_a_number_for_the_anti_skating_is_kept_as_a_text(self):
        self.assertEqual("1.5", self.solution(anti_skate=1.5).json()["session"]["anti_skate"])

    def test_a_tolerance_out_of_range_is_refused(self):
        run = self.solve(None, json.dumps({"tolerance_deg": 0}))
        self.assertEqual(1, run.status)
        self.assertIn("tolerance_deg is 0", run.err)


class Calibration(FaultCase):
    """Recordings of electronics and of records, made by NumPy and by `simulate`."""
    RATE = 48000

    def tones(self, name, wow_percent=0.0, noise_db=None, hum_db=None, lateral=False, clock_ppm=0.0):
        """Left only, right only and, if asked for, both: 1 kHz, 4 s each, with crosstalk of -40 and -46 dB."""
        count = 4 * self.RATE
        rng = np.random.default_rng(11)
        parts = [np.zeros((self.RATE // 2, 2))]
        for n, (left, right) in enumerate([(1, 0.01), (0.005, 1)] + ([(1, 1)] if lateral else [])):
            t = 4.5 * n + np.arange(count) / self.RATE
            phase = 2 * np.pi * 1000 * ((1 + 1e-6 * clock_ppm) * t - 0.01 * wow_percent * 1.8 / (2 * np.pi) * np.cos(2 * np.pi * t / 1.8))
            parts += [0.25 * np.sin(phase)[:, None] * np.array([left, right]), np.zeros((self.RATE // 2, 2))]
        audio = np.concatenate(parts)
        if noise_db is not None:
            audio += 0.25 / np.sqrt(2) * 10 ** (noise_db / 20) * rng.standard_normal(audio.shape)
        if hum_db is not None:
            t = np.arange(len(audio)) / self.RATE
            audio += 0.25 * 10 ** (hum_db / 20) * (np.sin(2 * np.pi * 50 * t) + 0.3 * np.sin(2 * np.pi * 150 * t))[:, None]
        data = np.round(audio * 2 ** 31).astype("<i4").tobytes()
        return self.put(name, b"RIFF" + struct.pack("<I", 36 + len(data)) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 2, self.RATE, 8 * self.RATE, 8, 32)
                        + b"data" + struct.pack("<I", len(data)) + data)

    def assertRefused(self, capture, pattern):
        target = self.folder / "preamp.json"
        for extra in ([], ["--json"]):
            run = evenwall("calibrate", capture, "-o", target, *extra)
            self.assertEqual((1, ""), (run.status, run.out), run.err)
            self.assertRegex(run.err, rf"\Aevenwall: [^\n]*{capture.name}: calibration_from_record: {pattern}[^\n]+\n\Z")
            self.assertFalse(target.exists())

    def test_electronics_are_calibrated(self):
        for name, more in {"clean": {}, "clock": {"clock_ppm": 80}, "noise": {"noise_db": -45}, "hum": {"hum_db": -30, "noise_db": -60}}.items():
            with self.subTest(name):
                run = evenwall("calibrate", "--json", self.tones(f"{name}.wav", **more))
                self.assertEqual(0, run.status, run.err)
                matrix = run.json()["points"][0]["matrix"]
                self.assertAlmostEqual(0.005, matrix[0][1]["re"], delta=1e-4)
                self.assertAlmostEqual(0.01, matrix[1][0]["re"], delta=1e-4)

    def test_a_record_is_refused(self):
        for wow_percent, more in ((0.02, {}), (0.05, {}), (0.15, {}), (0.05, {"noise_db": -50, "hum_db": -50})):
            with self.subTest(wow_percent=wow_percent, **more):
                self.assertRefused(self.tones("record.wav", wow_percent, **more), "the pitch of the tone wanders by 0")
        self.assertRefused(self.tones("lateral.wav", lateral=True), "both channels are driven at 9")

    def test_simulated_records_are_refused_and_one_record_among_electronics_too(self):
        for noise in ({}, {"surface_noise_db": -75}, {"surface_noise_db": -45, "clicks_per_s": 2}):
            scenario = {**SCENARIO, "noise": noise, "steps": [{"tilt_deg": 0.5}]}
            scenario["record"] = {**SCENARIO["record"], "wow_percent": 0.03, "flutter_percent": 0.01}
            folder = self.folder / f"record-{len(list(self.folder.iterdir()))}"
            made = evenwall("simulate", "--scenario", self.put("scenario.json", json.dumps(scenario)), "-o", folder)
            self.assertEqual(0, made.status, made.err)
            self.assertRefused(folder / "step-01.wav", "the pitch of the tone wanders by 0")
        run = evenwall("calibrate", self.tones("clean.wav"), folder / "step-01.wav", "-o", self.folder / "preamp.json")
        self.assertEqual((1, False), (run.status, (self.folder / "preamp.json").exists()), run.err)


class Stream(FaultCase):
    """A recording that comes on standard input."""

    def test_standard_input_has_a_name(self):
        for words, name in ((["--name", "side A"], "side A"), (["--keep", self.folder / "a.wav"], str(self.folder / "a.wav")),
                            (["--keep", self.folder / "b.wav", "--name", "side B"], "side B"), ([], "-")):
            run = evenwall("measure", "-", "--json", *words, stdin=self.good)
            self.assertEqual((0, name), (run.status, run.json()["capture"]), run.err)

    def test_the_audio_is_kept_as_it_came(self):
        target = self.folder / "kept.wav"
        plain = evenwall("measure", "-", "--json", "--name", "x", stdin=self.good)
        for more in ([], ["-o", self.folder / "reading.json"], ["--append", self.folder / "bench.jsonl"]):
            run = evenwall("measure", "-", "--json", "--name", "x", "--keep", target, *more, stdin=self.good)
            self.assertEqual((0, ""), (run.status, run.err))
            self.assertEqual(self.good, target.read_bytes())
            self.assertEqual(plain.out, (self.folder / "reading.json").read_text() if more[:1] == ["-o"] else run.out)
            target.unlink()

    def test_the_audio_is_kept_if_nothing_can_be_measured_in_it(self):
        silent = self.good[:44] + bytes(len(self.samples))
        for name, content in (("silent.wav", silent), ("text.wav", b"no audio at all")):
            run = evenwall("measure", "-", "--keep", self.folder / name, stdin=content)
            self.assertEqual(1, run.status)
            self.assertEqual(content, (self.folder / name).read_bytes())
        run = evenwall("measure", "-", "--keep", self.folder / "empty.wav", stdin=b"")
        self.assertEqual((1, False), (run.status, (self.folder / "empty.wav").exists()))

    def test_no_existing_file_is_replaced(self):
        target = self.put("there.wav", "what stood here before")
        (self.folder / "link.wav").symlink_to("nowhere.wav")
        for name in ("there.wav", "link.wav"):
            run = evenwall("measure", "-", "--keep", self.folder / name, "-o", self.folder / "o.txt", stdin=self.good, watch=self.folder)
            self.assertEqual((1, "", []), (run.status, run.out, run.changed))
            self.assertRegex(run.err, rf"\Aevenwall: [^\n]*{name}: this file exists already[^\n]+ Name another file\.\n\Z")
        self.assertEqual("what stood here before", target.read_text())
        for option in ("-o", "--append"):
            run = evenwall("measure", "-", "--keep", self.folder / "x.jsonl", option, self.folder / "x.jsonl", stdin=self.good, watch=self.folder)
            self.assertEqual((1, []), (run.status, run.changed), run.err)
            self.assertIn("--keep names this file, too", run.err)
        run = evenwall("measure", "-", "--keep", self.folder / "no/such/x.wav", stdin=self.good)
        self.assertEqual(1, run.status)
        self.assertIn("No such file", run.err)

    def test_an_interrupted_stream_leaves_no_file(self):
        child = subprocess.Popen([PROGRAM, "measure", "-", "--keep", self.folder / "kept.wav"], stdin=subprocess.PIPE, stderr=subprocess.PIPE)
        child.stdin.write(self.good[:100_000])
        child.stdin.flush()
        await_readiness(child.pid)
        child.send_signal(signal.SIGINT)
        self.assertEqual(130, child.wait(timeout=30))
        child.stdin.close()
        child.stderr.close()
        self.assertEqual([], list(self.folder.iterdir()))

    def test_a_stream_that_cannot_be_read_leaves_no_file(self):
        with open(self.capture, "rb") as stream:
            run = evenwall("measure", "-", "--keep", self.folder / "kept.wav", stdin=stream, watch=self.folder,
                           wrap=injected("read:error=EIO:when=2+", path=str(self.capture)))
        self.assertEqual((1, []), (run.status, run.changed), run.err)
        self.assertIn("standard input: the input cannot be read: Input/output error", run.err)


class Logs(FaultCase):
    def test_words_of_the_column_use_are_read_as_users_write_them(self):
        def parts(*words):
            log = "capture,tilt_deg,use\n" + "".join(f"{path.name},{tilt},{word}\n" for path, tilt, word in zip(self.captures, (-1.5, 0, 1, 2), words))
            document = self.solve(log).json()
            return {key: value for key, value in document.items() if key != "source"}
        expected = parts("yes", "yes", "yes", "verify")
        self.assertEqual(1, len(expected["verification"]))
        self.assertEqual(expected, parts("Yes", "YES", " yes ", "Verify"))
        for found in ("as found", "As-found", "AS_FOUND"):
            document = parts("yes", "yes", found, "NO")
            self.assertEqual(self.captures[2].name, document["as_found"]["capture"])
            self.assertEqual(parts("yes", "yes", "as_found", "no"), document)
        run = self.solve("capture,tilt_deg,use\nstep-01.wav,-1.5,\nstep-02.wav,0,sometimes\nstep-03.wav,1,\n")
        self.assertIn("\"sometimes\", which is not one of yes, no, verify, as_found", run.err)


class Settings(FaultCase):
    """Recordings that are not one setting each."""
    TILTS = ("-1.5", "0", "1", "2")

    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.expected = evenwall("solve", "--json", cls.session).json()

    def wave(self, samples, rate=16000):
        return (b"RIFF" + struct.pack("<I", 36 + len(samples)) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 2, rate, 4 * rate, 4, 16) + b"data"
                + struct.pack("<I", len(samples)) + samples)

    def solved(self, log):
        self.put("session.json", (self.session / "session.json").read_bytes())
        self.put("steps.csv", log)
        run = evenwall("solve", "--json", self.folder)
        self.assertEqual(0, run.status, run.err)
        return run.json()

    def assertSameTilt(self, document, delta=0.002):
        self.assertAlmostEqual(self.expected["least_crosstalk"]["tilt_deg"], document["least_crosstalk"]["tilt_deg"], delta=delta)

    def evening(self):
        return self.put("evening.wav", self.wave(b"".join(path.read_bytes()[44:] for path in self.captures)))

    def test_a_recording_of_several_settings_is_noticed_and_split(self):
        evening = self.evening()
        run = evenwall("measure", "--json", evening)
        self.assertIn("several_settings", run.warnings())
        for more in ([], ["--bands", "left,right"], ["-o", self.folder / "rows.csv"]):
            run = evenwall("measure", "--split", "evening.wav", *more, cwd=self.folder)
            self.assertEqual((0, ""), (run.status, run.err))
            rows = (run.out or (self.folder / "rows.csv").read_text()).splitlines()
            self.assertEqual("capture,tilt_deg,from_s,to_s", rows[0])
            self.assertEqual(4, len(rows) - 1, rows)
        log = "\n".join([rows[0]] + [row.replace(",,", f",{tilt},", 1) for row, tilt in zip(rows[1:], self.TILTS)])
        document = self.solved(log)
        self.assertEqual([], [w["code"] for w in document["warnings"] if w["code"] == "several_settings"])
        self.assertEqual(4, len(document["steps"]))
        self.assertSameTilt(document)

    def test_split_names_the_recording_as_the_log_needs_it(self):
        evening = self.evening()
        expected = evenwall("measure", "--split", "evening.wav", cwd=self.folder).out
        self.assertEqual(5, expected.count("\n"))
        away = self.folder / "away"
        away.mkdir()
        for words, cwd in ((["evening.wav"], self.folder), ([evening], None), ([f"{self.folder.name}/evening.wav"], self.folder.parent), (["../evening.wav"], away)):
            self.assertEqual(expected, evenwall("measure", "--split", *words, cwd=cwd).out)
        shutil.copy(self.capture, away)
        both = evenwall("measure", "--split", "evening.wav", f"away/{self.capture.name}", cwd=self.folder).out
        self.assertEqual(["capture", *["evening.wav"] * 4, f"away/{self.capture.name}"], [row.split(",")[0] for row in both.splitlines()])
        # The rows in a file are those of a log at its place.
        self.assertEqual(0, evenwall("measure", "--split", "evening.wav", "-o", "away/steps.csv", cwd=self.folder).status)
        log = (away / "steps.csv").read_text()
        self.assertEqual(expected.replace("evening", "../evening"), log)
        for tilt in self.TILTS:
            log = log.replace(".wav,,", f".wav,{tilt},", 1)
        (away / "steps.csv").write_text(log)
        shutil.copy(self.session / "session.json", away)
        self.assertSameTilt(evenwall("solve", "--json", away).json())

    def test_one_long_recording_without_a_log_is_to_be_split(self):
        self.evening()
        run = evenwall("solve", "--json", self.folder)
        self.assertEqual(0, run.status, run.err)
        verdict = run.json()["verdict"]
        self.assertEqual("capture_more", verdict["state"])
        self.assertIn("evening.wav seems to hold several settings", verdict["text"])
        self.assertTrue(verdict["text"].endswith("measure --split prints these rows."), verdict["text"])
        self.assertIn("measure --split prints these rows.", " ".join(evenwall("solve", self.folder).out.split()))

    def test_a_recording_of_one_setting_gives_one_row_and_no_warning(self):
        twice = self.put("twice.wav", self.wave(self.samples + self.samples))
        self.assertNotIn("several_settings", evenwall("measure", "--json", twice).warnings())
        run = evenwall("measure", "--split", self.capture)
        self.assertEqual((0, 2), (run.status, len(run.out.splitlines())), run.err)
        run = evenwall("measure", "--split", self.put("left.wav", self.wave(self.samples[:4 * 16000 * 4])))
        self.assertEqual((1, ""), (run.status, run.out))
        self.assertIn("no setting has a left-only and a right-only passage", run.err)

    def halves(self):
        """The left-only and the right-only band of each step in files of their own, cut in the silence between them."""
        middle = round(4.25 * 16000) * 4
        for n, capture in enumerate(self.captures, 1):
            samples = capture.read_bytes()[44:]
            self.put(f"{n}l.wav", self.wave(samples[:middle]))
            self.put(f"{n}r.wav", self.wave(samples[middle:]))

    def test_left_and_right_bands_in_two_files_are_joined(self):
        self.halves()
        steps = list(enumerate(self.TILTS, 1))
        orders = {"pairs": [f"{n}{side}.wav,{tilt}" for n, tilt in steps for side in "lr"],
                  "right first": [f"{n}{side}.wav,{tilt}" for n, tilt in steps for side in "rl"],
                  "sides": [f"{n}{side}.wav,{tilt}" for side in "lr" for n, tilt in steps]}
        for name, rows in orders.items():
            with self.subTest(name):
                document = self.solved("capture,tilt_deg\n" + "\n".join(rows))
                self.assertEqual(4, [w["code"] for w in document["warnings"]].count("joined"))
                self.assertEqual(4, len(document["steps"]))
                self.assertFalse({"swapped_or_reversed", "missing_passage", "step_unreadable"} & {w["code"] for w in document["warnings"]})
                self.assertSameTilt(document)

    def test_a_side_without_its_other_side_stays_excluded(self):
        self.halves()
        rows = [f"{n}{side}.wav,{tilt}" for n, tilt in enumerate(self.TILTS, 1) for side in "lr"][:-1]
        document = self.solved("capture,tilt_deg\n" + "\n".join(rows))
        codes = [w["code"] for w in document["warnings"]]
        self.assertEqual(3, codes.count("joined"))
        self.assertTrue(any("4l.wav" in w["message"] and w["code"] == "step_unreadable" for w in document["warnings"]), document["warnings"])

    def test_a_record_at_the_wrong_speed_is_reported_with_the_tone_that_was_heard(self):
        """The samples of a step at 1.35 times their rate are those of a record of 33 1/3 rpm that is played at 45 rpm."""
        for n, capture in enumerate(self.captures, 1):
            self.put(f"{n}.wav", capture.read_bytes() if n != 2 else self.wave(capture.read_bytes()[44:], 21600))
        document = self.solved("capture,tilt_deg\n" + "\n".join(f"{n}.wav,{tilt}" for n, tilt in enumerate(self.TILTS, 1)))
        told = [w["message"] for w in document["warnings"] if w["code"] == "step_unreadable"]
        self.assertEqual(1, len(told), document["warnings"])
        self.assertRegex(told[0], r"2\.wav is excluded: it has no pair of .* at 1000\.0 Hz; it has 1350\.0 Hz\. 1350\.0 Hz matches if a "
                                  r"33 1/3 rpm record was played at 45 rpm\. Capture both bands again\.")
        run = evenwall("measure", "--frequency", 1000, self.folder / "2.wav")
        self.assertEqual(1, run.status)
        self.assertRegex(run.err, r"the recording has 1350\.0 Hz.*played at 45 rpm")


if __name__ == "__main__":
    unittest.main()
