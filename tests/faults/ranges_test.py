# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests rows L12 and J3: impossible numbers in every key of every document, every column of every log and every flag; null and missing keys."""
import functools
import json
import os
import pathlib
import re
import sys
import unittest

from bench import FaultCase, evenwall as metered, some_of

sys.path.insert(0, str(pathlib.Path(__file__).parents[1] / "support"))
from ranges import Ranges  # noqa: E402

# There are thousands of runs of small documents; faults_proportion tests their memory and time.
evenwall = functools.partial(metered, metered=False)
RANGES = Ranges(os.environ["EVENWALL_PRINT_RANGES"])
NAMED = 20  # so many unusable steps are named one by one, the others only counted
NO_CHARTS = {"PATH": "/nonexistent"}  # a page without gnuplot takes milliseconds
METER = "tilt_deg,right_into_left_db,left_into_right_db\n-1,-29.8,-35\n0,-33,-38.5\n1,-33.5,-34\n"


def rows(family):
    return [row for row in RANGES.rows if row["family"] == family]


def just_outside(row):
    """Returns the nearest numbers that are refused, below and above the range."""
    width = row["high"] - row["low"]
    low = row["low"] if row["low_excluded"] else row["low"] - (1 if row["whole"] else 1e-3 * width)
    return [low, row["high"] + (1 if row["whole"] else 1e-3 * width)]


def impossible(row):
    return [*just_outside(row), 1e308, -1e308, 2**64]


def inside(row):
    width = row["high"] - row["low"]
    low = row["low"] + 1e-6 * width if row["low_excluded"] else row["low"]
    return [row["low"] if row["whole"] else low, row["high"]]


def batches(items, size=NAMED):
    return [items[i:i + size] for i in range(0, len(items), size)]


def number_places(value, at=()):
    """Yields the place of every number; of a list only its first element."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        yield at
    for key in value if isinstance(value, dict) else range(min(1, len(value))) if isinstance(value, list) else ():
        yield from number_places(value[key], (*at, key))


def places(value, at=()):
    if at:
        yield at
    for key in value if isinstance(value, dict) else range(min(1, len(value))) if isinstance(value, list) else ():
        yield from places(value[key], (*at, key))


MISSING = object()


def changed(document, place, value):
    copy = json.loads(json.dumps(document))
    at = copy
    for key in place[:-1]:
        at = at[key]
    if value is MISSING:
        del at[place[-1]]
    else:
        at[place[-1]] = value
    return copy


def row_of(family, place):
    names = [key for key in place if isinstance(key, str)]
    family = "session" if "session" in names[:-1] else family
    return RANGES.of(family, names[-2] if len(names) > 1 else "", names[-1])


class Numbers(FaultCase):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        runs = [evenwall("measure", "--json", name, "--tilt-deg", tilt, "--tilt-u", "0.1") for name, tilt in zip(cls.captures, ("-1.5", "0", "1", "2"))]
        cls.readings = [run.json() for run in runs]
        log = cls.shared / "session.jsonl"
        log.write_text("\n".join(map(json.dumps, cls.readings)))
        cls.log = log
        solution = evenwall("solve", "--json", cls.session).json()
        cls.solutions = []
        for i, cartridge in enumerate(("Larkspur", "Larkspur", "Corncrake", "Corncrake", "Dunnock", "Dunnock")):
            one = changed(solution, ("session", "cartridge"), cartridge)
            one["session"].update(record=f"Even Furrow {i % 2}", date=f"2025-0{i + 1}-03", gauge_u_deg=0.01)
            one["least_crosstalk"]["tilt_deg"] += 0.01 * i
            cls.solutions.append(one)
        cls.survey = evenwall("survey", "--json", "--by", "rig", "-", stdin="\n".join(map(json.dumps, cls.solutions)).encode()).json()

    def assertNames(self, message, row, value, *patterns):
        for pattern in (re.escape(f"{value:g}"), "the limit is|is possible|whole number", *patterns):
            self.assertRegex(message, pattern)

    def assertRefusedNumber(self, run, row, value, *patterns):
        self.assertEqual((1, ""), (run.status, run.out), run.err)
        self.assertRegex(run.err, r"\A(evenwall: [^\n]+\n)+\Z")
        self.assertNotIn("fault of this program", run.err)
        self.assertNames(run.err, row, value, *patterns)

    # ---------------------------------------------------------------- numbers that exclude a step

    def test_L12_a_negative_uncertainty_never_narrows_the_interval(self):
        """Formerly a reading with tilt_u -1 was accepted, and the interval became narrower."""
        odd = changed(self.readings[1], ("tilt_u",), -1)
        run = metered("solve", "--json", "-", stdin="\n".join(map(json.dumps, [self.readings[0], odd, *self.readings[2:]])).encode())
        document = self.assertAnswered(run, "step_unreadable")
        self.assertEqual(3, len(document["steps"]))
        self.assertRegex(run.err, r"standard input:2: key /tilt_u is -1; 0 to 1000000 is possible\. The step is excluded\. ")

    def steps_excluded(self, lines, expected):
        """Solves lines of readings: each line in `expected` (line, row, value, place) excludes its step, the others do not."""
        run = evenwall("solve", "--json", "-", stdin="\n".join(lines).encode())
        self.assertEqual(0, run.status, run.err)
        told = [w["message"] for w in run.json()["warnings"] if w["code"] == "step_unreadable" and "standard input:" in w["message"]]
        for number, row, value, place in expected:
            with self.subTest(line=number, place=place, value=value):
                message = next((m for m in told if f"standard input:{number}: " in m), "")
                self.assertNames(message, row, value, "key /" + "/".join(map(str, place)), "step is excluded")
        self.assertEqual(len(expected), len(told), told)

    def test_J3_every_number_of_a_reading(self):
        good = [json.dumps(reading) for reading in self.readings]
        bad = [(place, row_of("reading", place), value) for place in number_places(self.readings[1]) if place[0] != "made_by"
               for value in impossible(row_of("reading", place))]
        self.assertGreater(len(bad), 150)
        in_session = [b for b in bad if "session" in b[0]]
        for batch in batches([b for b in bad if b not in in_session]):
            lines = good + [json.dumps(changed(self.readings[1], place, value)) for place, _, value in batch]
            self.steps_excluded(lines, [(len(good) + 1 + i, row, value, place) for i, (place, row, value) in enumerate(batch)])
        for place in number_places(self.readings[1]):
            if place[0] in ("made_by", "session"):
                continue
            lines = good + [json.dumps(changed(self.readings[1], place, value)) for value in inside(row_of("reading", place))]
            run = evenwall("solve", "--json", "-", stdin="\n".join(lines).encode())
            with self.subTest(place=place):
                self.assertIn(run.status, (0, 1))
                self.assertNotRegex(run.err, r"; the limit is|is possible|fault of this program")

    def test_L12_every_column_of_a_log(self):
        for row in rows("log"):
            head = ["capture", "tilt_deg", "from_s", "to_s", "tilt_u", "sequence"]
            head[1] = "tilt_units" if row["key"] == "tilt_units" else "tilt_deg"
            def line(name, tilt, value=None):
                cells = {"capture": name, head[1]: tilt, **({} if value is None else {row["key"]: repr(value)})}
                return ",".join(cells.get(key, "") for key in head) + "\n"
            good = ",".join(head) + "\n" + "".join(line(p.name, t) for p, t in zip(self.captures, ("-1.5", "0", "1", "2")))
            values = [*impossible(row)]
            run = self.solve(good + "".join(line(f"other-{i}.wav", "0.5", value) for i, value in enumerate(values)))
            document = self.assertAnswered(run, "step_unreadable")
            self.assertEqual(4, len(document["steps"]))
            for i, value in enumerate(values):
                with self.subTest(row["key"], value=value):
                    self.assertRegex(run.err, rf"steps\.csv:{6 + i}: {row['key']} is {re.escape(f'{value:g}')}; [^\n]+\. The step is excluded\. Correct the log\.")
            for value in inside(row):
                with self.subTest(row["key"], inside=value):
                    self.assertNotRegex(self.solve(good + line("other.wav", "0.5", value)).err, r"; the limit is|is possible")

    def test_L12_every_column_of_a_meter_table(self):
        for row in rows("meter"):
            head = ["tilt_units" if row["key"] == "tilt_units" else "tilt_deg", "right_into_left_db", "left_into_right_db",
                    "right_into_left_phase_deg", "left_into_right_phase_deg", "balance_db", "u_db"]
            def line(tilt, right, left, value=None):
                cells = {head[0]: tilt, head[1]: right, head[2]: left, **({} if value is None else {row["key"]: repr(value)})}
                return ",".join(cells.get(key, "") for key in head) + "\n"
            good = ",".join(head) + "\n" + line("-1", "-29.8", "-35") + line("0", "-33", "-38.5") + line("1", "-33.5", "-34")
            values = impossible(row)
            run = metered("solve", "--json", self.put("meter.csv", good + "".join(line("2", "-30", "-31", value) for value in values)))
            self.assertEqual(3, len(self.assertAnswered(run, "step_unreadable")["steps"]))
            for i, value in enumerate(values):
                with self.subTest(row["key"], value=value):
                    self.assertRegex(run.err, rf"meter\.csv:{5 + i}: {row['key']} is {re.escape(f'{value:g}')}; [^\n]+\. The step is excluded\.")
            for value in inside(row):
                with self.subTest(row["key"], inside=value):
                    run = evenwall("solve", "--json", self.put("meter.csv", good + line("2", "-30", "-31", value)))
                    self.assertNotRegex(run.err, r"; the limit is|is possible")

    # ---------------------------------------------------------------- numbers that refuse a document

    def test_J3_every_number_of_a_session(self):
        self.put("meter.csv", METER)
        for row in rows("session"):
            stylus = row["key"] in ("major_radius_um", "tilt_limit_deg", "upright_at_deg")
            for value in (*impossible(row), *inside(row)):
                facts = {"stylus": {row["key"]: value}} if stylus else {row["key"]: value}
                self.put("session.json", json.dumps(facts))
                run = evenwall("solve", "--json", self.folder / "meter.csv")
                with self.subTest(row["key"], value=value):
                    if value in inside(row):
                        self.assertNotRegex(run.err, r"; the limit is|is possible")
                    else:
                        self.assertRefusedNumber(run, row, value, r"session\.json: key /\S*" + row["key"])

    def refuse_each(self, family, document, run_of, name, known):
        """Tries every number of a document: a row's first place gets all impossible values, each further place of the row gets one of them in turn."""
        seen, rows_seen = 0, {}
        for place in number_places(document):
            if not known(place):
                continue
            row = row_of(family, place)
            seen += 1
            whose = row["family"], row["key"]
            turn = rows_seen[whose] = rows_seen.get(whose, -1) + 1
            values = impossible(row)
            for value in some_of(values, turn) if turn == 0 else [values[turn % len(values)]]:
                with self.subTest(family, place=place, value=value):
                    run = run_of(json.dumps(changed(document, place, value)))
                    self.assertRefusedNumber(run, row, value, name + ": key /" + "/".join(map(str, place)))
        return seen

    def test_J3_every_number_of_a_solution_in_a_survey(self):
        others = "\n".join(map(json.dumps, self.solutions[1:3]))
        taken = (("least_crosstalk", "tilt_deg"), ("least_crosstalk", "u_deg"), ("equal_crosstalk", "tilt_deg"))
        for place in taken:
            row = row_of("solution", place)
            for value in impossible(row):
                with self.subTest(place=place, value=value):
                    run = evenwall("survey", "--json", "-", stdin=(json.dumps(changed(self.solutions[0], place, value)) + "\n" + others).encode())
                    self.assertIn(run.status, (0, 1))
                    self.assertRegex(run.err, "standard input:1: key /" + "/".join(place) + " is " + re.escape(f"{value:g}"))
                    if run.status == 0:
                        self.assertEqual(2, run.json()["solutions"])

    def test_J3_every_number_of_a_solution_on_a_page(self):
        def page(text):
            return evenwall("report", self.put("solution.json", text), env=NO_CHARTS)
        self.assertEqual(0, page(json.dumps(self.solutions[0])).status)
        seen = self.refuse_each("solution", self.solutions[0], page, "solution.json", lambda place: place[0] != "made_by")
        self.assertGreater(seen, 55)

    def test_J3_every_number_of_a_survey(self):
        def page(text):
            return evenwall("report", self.put("survey.json", text), env=NO_CHARTS)
        def correction(text):
            return evenwall("solve", "--json", self.log, "--record-correction", self.put("survey.json", text))
        for run_of in (page, correction):
            self.assertEqual(0, run_of(json.dumps(self.survey)).status)
            self.assertGreater(self.refuse_each("survey", self.survey, run_of, "survey.json", lambda place: place[0] != "made_by"), 20)

    def test_J3_every_number_of_a_calibration(self):
        point = {"frequency_hz": 1000, "matrix": [[{"re": 1, "im": 0}, {"re": 0.001, "im": 0}], [{"re": 0.001, "im": 0}, {"re": 1, "im": 0}]],
                 "u_off_diagonal": [1e-5, 1e-5]}
        document = {"schema": "evenwall/calibration/1", "points": [point]}
        def solved(text):
            return evenwall("solve", "--json", self.log, "--calibration", self.put("calibration.json", text))
        self.assertEqual(0, solved(json.dumps(document)).status)
        self.assertGreater(self.refuse_each("calibration", document, solved, "calibration.json", lambda place: True), 3)

    def test_J3_every_number_of_a_scenario(self):
        small = {"re": 0, "im": 0}
        document = {
            "sample_rate_hz": 8000, "bits": 16,
            "record": {"rpm": 33.3, "bands": [{"band": "left", "signal": "log_sweep", "frequency_hz": 100, "frequency_to_hz": 200, "duration_s": 1,
                                               "level_dbfs": -12, "fade_s": 0.1}],
                       "cut_error_left_deg": 0, "cut_error_right_deg": 0, "cut_level_difference_db": 0, "wow_percent": 0, "warp_deg": 0,
                       "warp_second_deg": 0, "flutter_percent": 0, "speed_error_percent": 0},
            "cartridge": {"generator_error_left_deg": 0, "generator_error_right_deg": 0, "coupling_right_into_left": small, "coupling_left_into_right": small,
                          "gain_imbalance_db": 0, "interchannel_phase_deg": 0, "left_delay_s": 0, "second_harmonic_percent": 0, "third_harmonic_percent": 0,
                          "electronics": [[{"re": 1, "im": 0}, small], [small, {"re": 1, "im": 0}]],
                          "resonances": [{"frequency_hz": 1000, "q": 1, "right_into_left": small, "left_into_right": small}]},
            "noise": {"surface_noise_db": -60, "clicks_per_s": 0, "click_peak_db": 0, "rumble_db": -60, "hum_db": -60, "hum_frequency_hz": 50, "dc_left": 0,
                      "dc_right": 0},
            "steps": [{"tilt_deg": 0}], "gauge_error_u_deg": 0, "gauge_zero_deg": 0, "gauge_scale": 1, "units_per_deg": 1}
        def simulated(text):
            return evenwall("simulate", "--scenario", self.put("scenario.json", text), "-o", self.folder / "made")
        seen = self.refuse_each("scenario", document, simulated, "scenario.json", lambda place: True)
        self.assertGreaterEqual(seen, len(rows("scenario")) - 1)
        self.assertFalse((self.folder / "made").exists())

    def test_S1_every_number_of_a_flag(self):
        for row in rows("flag"):
            command = "solve" if row["key"] in ("--gauge-u", "--gauge-zero-u", "--record-u", "--tilt-limit", "--from-tilt", "--tolerance") else "measure"
            beside = ["--tilt-deg", "0"] if row["key"] == "--tilt-u" else []
            for value in (*map(repr, impossible(row)), "nan", "inf", "-inf", "NaN", "1e999", "0x10", "", "1,5", "1_0"):
                with self.subTest(row["key"], value=value):
                    run = evenwall(command, self.capture, *beside, f"{row['key']}={value}")
                    self.assertEqual((2, ""), (run.status, run.out), run.err)
                    self.assertRegex(run.err, r"\Aevenwall: [^\n]*" + row["key"] + r"[^\n]*\. See evenwall --help\.\n\Z")
            for value in inside(row):
                with self.subTest(row["key"], inside=value):
                    text = str(int(value)) if row["whole"] else repr(value)
                    self.assertNotEqual(2, evenwall(command, self.folder / "none.wav", *beside, f"{row['key']}={text}").status)

    # ---------------------------------------------------------------- keys that are null, missing or of another type

    def sensible(self, run):
        self.assertIn(run.status, (0, 1), run.err)
        if run.status == 1:
            self.assertEqual("", run.out)
            self.assertRegex(run.err, r"\Aevenwall: [^\n]+\n\Z")
            self.assertNotIn("fault of this program", run.err)
        text = re.sub(r"<style>.*?</style>", "", run.out, flags=re.S)
        self.assertNotRegex(text, re.compile(r"(?<![a-z])-?(nan|inf)(?![a-z])", re.I))

    def test_J4_a_page_of_a_document_without_a_key(self):
        # json_test.py tests other types in a survey.
        for document, values in ((self.solutions[0], (None, MISSING, "x", [])), (self.survey, (None, MISSING))):
            keys = list(places(document))
            self.assertGreater(len(keys), 40)
            for turn, place in enumerate(keys):
                for value in some_of(values, turn):
                    with self.subTest(document["schema"], place=place, value=value):
                        self.sensible(evenwall("report", "-", stdin=json.dumps(changed(document, place, value)).encode(), env=NO_CHARTS))

    def test_J4_null_where_the_page_needs_a_number(self):
        for place in (("recommended", "tilt_deg"), ("recommended", "u_deg"), ("recommended", "right_into_left_db"), ("least_crosstalk", "tilt_deg"),
                      ("steps", 0, "tilt_deg"), ("shim", "move_deg"), ("tilt_response", "degrees_per_unit")):
            with self.subTest(place=place):
                page = self.put("solution.json", json.dumps(changed(self.solutions[0], place, None)))
                self.assertRefused(metered("report", page, env=NO_CHARTS, watch=self.folder),
                                   "solution.json: key /" + "/".join(map(str, place)))

    def test_J4_a_survey_of_a_solution_without_a_key(self):
        others = "\n".join(map(json.dumps, self.solutions[1:]))
        for turn, place in enumerate(places(self.solutions[0])):
            if place[0] not in ("schema", "least_crosstalk", "equal_crosstalk", "session", "options"):
                continue
            for value in some_of((None, MISSING, "x", 1, [], {}), turn):
                with self.subTest(place=place, value=value):
                    run = evenwall("survey", "--json", "-", stdin=(json.dumps(changed(self.solutions[0], place, value)) + "\n" + others).encode())
                    self.assertEqual(0, run.status, run.err)
                    self.assertNotIn("fault of this program", run.err)
                    run.json()  # raises an error for NaN


if __name__ == "__main__":
    unittest.main()
