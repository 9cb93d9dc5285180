# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests survey, and solve with its correction, as a user runs them, and the same work distributed by GNU parallel."""
import csv
import io
import json
import pathlib
import random
import shutil
import subprocess
import sys
import tempfile
import unittest

import jsonschema

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
DOCS = pathlib.Path(__file__).resolve().parents[2] / "docs"

SCENARIO = {
    "schema": "evenwall/scenario/1", "name": "bench", "sample_rate_hz": 48000, "bits": 24,
    "record": {"bands": [{"band": None, "duration_s": 0.5}, {"band": "left", "duration_s": 3.8}, {"band": None, "duration_s": 0.5},
                         {"band": "right", "duration_s": 3.8}, {"band": None, "duration_s": 0.5}]},
    "cartridge": {"generator_error_left_deg": -1.0, "generator_error_right_deg": -0.6},
    "noise": {"surface_noise_db": -55},
    "steps": [{"tilt_deg": -1.5}, {"tilt_deg": 0}, {"tilt_deg": 1.5}],
    "session": {"cartridge": "C07", "record": "R1", "record_side": "A", "bands": ["left", "right"], "gauge_u_deg": 0.01},
}
CUTS = {"R1": 0.1, "R2": -0.04, "R3": -0.06}


def evenwall(*words, cwd=None, stdin=""):
    run = subprocess.run([PROGRAM, *map(str, words)], input=stdin, capture_output=True, text=True, timeout=120, cwd=cwd)
    return run.returncode, run.stdout, run.stderr


def validator(name):
    return jsonschema.Draft202012Validator(json.loads((DOCS / f"{name}.schema.json").read_text()))


def write_archive(folder):
    """Writes solutions of sixty cartridges and three records, each cartridge on two of them; the error is 0.03°."""
    draw = random.Random(3)
    folder.mkdir()
    for i in range(60):
        tilt = 0.2 + draw.gauss(0, 0.4)
        for k in range(2):
            record = f"R{(i + k) % 3 + 1}"
            document = {"schema": "evenwall/solution/1",
                        "session": {"cartridge": f"C{i:02d}", "record": record, "record_side": "A", "date": f"{2014 + i % 9}-0{1 + k}-11",
                                    "cartridge_model": "Larkspur" if i % 2 else "Thistle"},
                        "least_crosstalk": {"tilt_deg": tilt + CUTS[record] + draw.gauss(0, 0.03), "u_deg": None}}
            (folder / f"{i:02d}-{record}.json").write_text(json.dumps(document))


class Survey(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        cls.archive = cls.folder / "archive"
        write_archive(cls.archive)
        cls.survey = cls.folder / "survey.json"
        status, out, err = evenwall("survey", cls.archive, "-o", cls.survey)
        assert status == 0, err
        (cls.folder / "scenario.json").write_text(json.dumps(SCENARIO))
        cls.sessions = []
        for seed in (1, 2):
            cls.sessions.append(cls.folder / f"session-{seed}")
            assert evenwall("simulate", "--scenario", cls.folder / "scenario.json", "--seed", seed, "-o", cls.sessions[-1])[0] == 0

    def test_the_document_is_valid_and_contains_the_cutting_azimuth_errors(self):
        document = json.loads(self.survey.read_text())
        validator("survey").validate(document)
        for record in document["records"]:
            self.assertAlmostEqual(CUTS[record["record"]], record["cut_error_deg"], delta=0.03)
        self.assertEqual(60, len(document["cartridges"]))

    def test_the_order_of_the_inputs_changes_no_byte(self):
        files = sorted(self.archive.iterdir())
        forward = evenwall("survey", "--json", *files)
        self.assertEqual(forward[1], evenwall("survey", "--json", *files[::-1])[1])
        self.assertEqual(forward[1], evenwall("survey", "--json", "-", stdin="\n".join(f.read_text() for f in files))[1])

    def test_groups_and_the_csv_table_are_complete(self):
        document = json.loads(evenwall("survey", self.archive, "--json", "--by", "cartridge_model")[1])
        self.assertEqual(["Larkspur", "Thistle"], [g["name"] for g in document["groups"]])
        status, out, err = evenwall("survey", self.archive, "--csv")
        rows = list(csv.DictReader(io.StringIO(out)))
        self.assertEqual(60, sum(row["kind"] == "cartridge" for row in rows))
        self.assertEqual(3, sum(row["kind"] == "record" for row in rows))

    def test_the_text_fits_a_terminal_and_begins_with_the_answer(self):
        status, out, err = evenwall("survey", self.archive, "--by", "cartridge_model")
        self.assertEqual(0, status)
        self.assertIn("On average, the cartridges need an azimuth of", out.splitlines()[0])
        self.assertLessEqual(max(map(len, out.splitlines())), 80)

    def test_a_bad_file_is_named_and_does_not_affect_the_others(self):
        broken = self.folder / "broken.json"
        broken.write_text('{"schema":"evenwall/solution/1",')
        status, out, err = evenwall("survey", self.archive, broken, "--json")
        self.assertEqual(0, status)
        self.assertIn("broken.json", err)
        self.assertIn("solution_unreadable", [w["code"] for w in json.loads(out)["warnings"]])
        self.assertEqual(1, evenwall("survey", self.archive, broken, "--json", "--strict")[0])

    def test_a_contradicted_solution_is_named(self):
        bad = self.folder / "bad-one.json"
        bad.write_text(json.dumps({"schema": "evenwall/solution/1", "session": {"cartridge": "C05", "record": "R2", "record_side": "A"},
                                   "least_crosstalk": {"tilt_deg": 4.0, "u_deg": 0.01}}))
        status, out, err = evenwall("survey", self.archive, bad, "--json")
        self.assertEqual([str(bad)], [b["solution"] for b in json.loads(out)["bad_solutions"]])
        self.assertIn("solution_off", err)

    def test_a_survey_without_solutions_gives_no_answer(self):
        empty = self.folder / "empty"
        empty.mkdir(exist_ok=True)
        self.assertEqual(1, evenwall("survey", empty)[0])
        self.assertEqual(1, evenwall("survey", self.folder / "absent")[0])
        self.assertEqual(2, evenwall("survey")[0])

    def test_solve_subtracts_the_cutting_azimuth_error(self):
        plain = json.loads(evenwall("solve", self.sessions[0], "--json")[1])
        status, out, err = evenwall("solve", self.sessions[0], "--json", "--record-correction", self.survey)
        self.assertEqual(0, status, err)
        corrected = json.loads(out)
        validator("solution").validate(corrected)
        cut = next(r for r in json.loads(self.survey.read_text())["records"] if r["record"] == "R1")["cut_error_deg"]
        self.assertAlmostEqual(plain["least_crosstalk"]["tilt_deg"] - cut, corrected["least_crosstalk"]["tilt_deg"], delta=1e-4)
        self.assertEqual(cut, corrected["options"]["record_correction"]["cut_error_deg"])
        self.assertEqual("any_record", corrected["recommended"]["scope"])
        self.assertGreater(next(t for t in corrected["uncertainty"] if t["source"] == "record")["u_deg"], 0)

    def test_a_survey_counts_a_corrected_solution_like_an_uncorrected_one(self):
        both = [self.folder / "plain.json", self.folder / "corrected.json"]
        evenwall("solve", self.sessions[0], "--json", "-o", both[0])
        evenwall("solve", self.sessions[0], "--json", "-o", both[1], "--record-correction", self.survey)
        means = [json.loads(evenwall("survey", self.archive, b, "--json")[1])["mean_deg"] for b in both]
        self.assertAlmostEqual(means[0], means[1], delta=1e-6)

    def test_a_record_that_was_not_surveyed_is_named(self):
        other = self.folder / "other"
        if not other.exists():
            shutil.copytree(self.sessions[0], other)
        facts = json.loads((other / "session.json").read_text())
        (other / "session.json").write_text(json.dumps({**facts, "record": "R9"}))
        status, out, err = evenwall("solve", other, "--json", "--record-correction", self.survey)
        self.assertEqual(0, status)
        self.assertIn("R9, side A is not in", err)
        self.assertEqual("this_record", json.loads(out)["recommended"]["scope"])
        self.assertEqual(1, evenwall("solve", other, "--record-correction", self.folder / "scenario.json")[0])

    def test_gnu_parallel_gives_the_same_bytes(self):
        """The manual's method for more than one machine: one process per capture and per session."""
        tool = shutil.which("parallel")
        self.assertIsNotNone(tool, "GNU parallel is missing: apt-get install parallel")
        captures = sorted(str(p.relative_to(self.folder)) for s in self.sessions for p in s.glob("*.wav"))
        spread = [tool, "--will-cite", "--keep-order", "--jobs", "2", PROGRAM]
        for command, inputs in (("measure", captures), ("solve", [s.name for s in self.sessions])):
            at_once = evenwall(command, "--json", *inputs, cwd=self.folder)
            self.assertEqual(0, at_once[0], at_once[2])
            run = subprocess.run([*spread, command, "--json", "{}", ":::", *inputs], capture_output=True, text=True, cwd=self.folder)
            self.assertEqual(0, run.returncode, run.stderr)
            self.assertEqual(at_once[1], run.stdout)


if __name__ == "__main__":
    unittest.main()
