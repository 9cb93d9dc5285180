# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests the program on sessions as people keep them: known keys of session.json, and names that are almost right."""
import json
import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "faults"))
from bench import FaultCase, evenwall  # noqa: E402

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


if __name__ == "__main__":
    unittest.main()
