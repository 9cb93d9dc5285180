# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests sessions without logged tilts as a user runs them: a folder of recordings, a log of captures, and every view of the answer."""
import csv
import io
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

import jsonschema

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests/support"))
from simulated_session import short_demo, simulated  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
TILTS = (-1, 1.5, 0.2)  # in order of recording


def evenwall(*words):
    run = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True, timeout=120)
    return run.returncode, run.stdout, run.stderr


class NoGauge(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        scenario = short_demo()
        scenario["steps"] = [{"tilt_deg": t} for t in TILTS]
        cls.session = simulated(PROGRAM, cls.folder / "session", scenario, 5)
        truth = json.loads((cls.session / "truth.json").read_text())
        cls.least = truth["least_crosstalk_deg"] - truth["steps"][-1]["true_tilt_deg"]
        cls.equal = truth["equal_crosstalk_deg"] - truth["steps"][-1]["true_tilt_deg"]
        # take-9 is recorded before take-10 and take-11
        for number, name in enumerate(("take-9.wav", "take-10.wav", "take-11.wav"), 1):
            (cls.session / f"step-{number:02}.wav").rename(cls.session / name)
        (cls.session / "steps.csv").unlink()

    def solved(self, session=None):
        status, out, err = evenwall("solve", session or self.session, "--json", "--quiet")
        self.assertEqual(0, status, err)
        return json.loads(out)

    def copy(self):
        copy = pathlib.Path(tempfile.mkdtemp(dir=self.folder))
        return pathlib.Path(shutil.copytree(self.session, copy / "session"))

    def test_the_answer_is_the_turn_from_the_last_recording_by_name(self):
        solution = self.solved()
        self.assertEqual("take-11.wav", solution["recommended"]["from_capture"])
        self.assertEqual("turn_on_this_record", solution["recommended"]["scope"])
        self.assertAlmostEqual(self.least, solution["least_crosstalk"]["tilt_deg"], delta=0.02)
        self.assertAlmostEqual(self.equal, solution["equal_crosstalk"]["tilt_deg"], delta=0.02)
        self.assertIsNone(solution["recommended"]["tilt_units"])
        now, answer = solution["now"], solution["recommended"]
        self.assertEqual(("take-11.wav", "last"), (now["capture"], now["from"]))
        self.assertAlmostEqual(answer["tilt_deg"], now["turn_deg"], delta=1e-9)
        self.assertAlmostEqual(answer["u_deg"], now["u_deg"], delta=1e-9)
        self.assertEqual("clockwise" if self.least > 0 else "anticlockwise", now["direction"])
        self.assertEqual("take-11.wav", solution["set_to"]["from_capture"])
        self.assertEqual("turn", solution["verdict"]["state"])
        by_name = {s["capture"]: s for s in solution["steps"]}
        for name, tilt in zip(("take-9.wav", "take-10.wav", "take-11.wav"), TILTS):
            self.assertAlmostEqual(tilt - TILTS[-1], by_name[name]["tilt_deg"], delta=0.1)  # the simulated gauge errs by 0.02°
            self.assertIsNone(by_name[name]["audit_deg"])
            self.assertIsNone(by_name[name]["tilt_units"])
        self.assertFalse([t["source"] for t in solution["uncertainty"] if "gauge" in t["source"]])
        self.assertEqual("spindle_side" if self.least > 0 else "outer_side", solution["shim"]["raises"])
        schema = json.loads((ROOT / "docs/solution.schema.json").read_text())
        self.assertEqual([], [e.message for e in jsonschema.Draft202012Validator(schema).iter_errors(solution)])

    def test_a_log_of_captures_gives_the_same_answer_and_chooses_the_order(self):
        folder = self.solved()
        folder.pop("source")  # the input as it was named
        solved = lambda session: {key: value for key, value in self.solved(session).items() if key != "source"}
        (copy := self.copy()).joinpath("steps.csv").write_text("capture\ntake-9.wav\ntake-10.wav\ntake-11.wav\n")
        self.assertEqual(folder, solved(copy))
        copy.joinpath("steps.csv").write_text("capture,tilt_deg\ntake-9.wav,\ntake-10.wav,\ntake-11.wav,\n")
        self.assertEqual(folder, solved(copy))
        copy.joinpath("steps.csv").write_text("capture,note\ntake-11.wav,\ntake-10.wav,\ntake-9.wav,last\n")
        turned = self.solved(copy)
        self.assertEqual("take-9.wav", turned["recommended"]["from_capture"])
        apart = next(s["tilt_deg"] for s in folder["steps"] if s["capture"] == "take-9.wav")
        self.assertAlmostEqual(folder["least_crosstalk"]["tilt_deg"] - apart, turned["least_crosstalk"]["tilt_deg"], delta=1e-6)

    def test_every_view_says_from_where_the_turn_counts(self):
        status, text, err = evenwall("solve", self.session, "--quiet", "--chart")
        self.assertEqual(0, status, err)
        self.assertRegex(text, r"^For this record, turn the cartridge (anti)?clockwise by [\d.]+° from its position in\s+take-11.wav")
        brief = evenwall("solve", self.session, "--quiet")[1]
        self.assertEqual(text.splitlines()[0], brief.splitlines()[0])
        self.assertLessEqual(brief.count("\n"), 24)
        self.assertRegex(" ".join(brief.split()), r"Turn from take-11.wav: (anti)?clockwise by")
        line = evenwall("solve", self.session, "--quiet", "--table")[1].splitlines()[1]
        self.assertIn("n/a", line)  # no number to set
        for absent in ("zero of your log", "correction", "gauge"):
            self.assertNotIn(absent, text)
        (self.folder / "solution.json").write_text(json.dumps(self.solved()))
        status, page, err = evenwall("report", self.folder / "solution.json")
        self.assertEqual(0, status, err)
        self.assertIn("from its position in take-11.wav", page)
        for absent in ("zero of your log", "against the log", "logged azimuth"):
            self.assertNotIn(absent, page)
        status, table, err = evenwall("solve", self.session, "--quiet", "--steps-csv")
        rows = list(csv.DictReader(io.StringIO(table)))
        self.assertEqual([""] * 3, [r["audit_deg"] for r in rows])
        self.assertEqual([""] * 3, [r["tilt_units"] for r in rows])
        self.assertEqual(3, sum(bool(r["tilt_deg"]) for r in rows))

    def test_without_bands_the_direction_is_not_known(self):
        (copy := self.copy()).joinpath("session.json").unlink()
        solution = self.solved(copy)
        self.assertIn("direction_unknown", [w["code"] for w in solution["warnings"]])
        self.assertIsNone(solution["shim"]["raises"])
        self.assertIsNone(solution["now"]["direction"])
        self.assertAlmostEqual(abs(self.least), abs(solution["least_crosstalk"]["tilt_deg"]), delta=0.02)
        text = " ".join(evenwall("solve", copy, "--quiet", "--full")[1].split())
        toward = ("take-9.wav", "take-10.wav") if self.least > 0 else ("take-10.wav", "take-9.wav")
        self.assertIn(f"in the direction from {toward[0]} towards {toward[1]}", text)
        self.assertEqual(1, evenwall("solve", copy, "--quiet", "--strict")[0])
        self.assertEqual(0, evenwall("solve", self.session, "--quiet", "--strict")[0])

    def test_a_survey_refuses_the_solution_with_the_reason(self):
        (self.folder / "turn.json").write_text(json.dumps(self.solved()))
        status, _, err = evenwall("survey", self.folder / "turn.json")
        self.assertEqual(1, status)
        self.assertIn("count from a recording", err)

    def test_a_folder_without_recordings_is_refused_and_recordings_are_not_replaced(self):
        empty = pathlib.Path(tempfile.mkdtemp(dir=self.folder))
        status, _, err = evenwall("solve", empty)
        self.assertEqual(1, status)
        self.assertIn("holds neither a steps.csv nor recordings", err)
        before = (self.session / "take-9.wav").read_bytes()
        self.assertNotEqual(0, evenwall("solve", self.session, "--json", "-o", self.session / "take-9.wav")[0])
        self.assertEqual(before, (self.session / "take-9.wav").read_bytes())


if __name__ == "__main__":
    unittest.main()
