# SPDX-License-Identifier: GPL-3.0-or-later
"""Compares solutions of whole sessions with independent ones: by SciPy from the WAV files, by R from the readings. Usage: twins_test.py PROGRAM"""
import importlib.util
import json
import math
import pathlib
import random
import shutil
import subprocess
import sys
import tempfile
import unittest

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
HERE = pathlib.Path(__file__).resolve().parent
SEEDS = range(1, 21)
LEAST_DEG = 0.003  # two estimators of the same captures, each within 1.1 of the noise's bound, which treat outliers differently
R_LEAST_DEG = 0.001  # the readings are the same; only the arithmetic and the provision for wrong log entries differ

spec = importlib.util.spec_from_file_location("session_twin", HERE / "session_twin.py")
session_twin = importlib.util.module_from_spec(spec)
spec.loader.exec_module(session_twin)


def run(*words):
    return subprocess.run([str(w) for w in words], check=True, capture_output=True, text=True, timeout=300).stdout


def scenario(seed):
    """Returns the gauge and a plausible cartridge, record and session. One gauge in three is perfect, one stated, and one estimated from the scatter."""
    draw = random.Random(seed)
    common, shear = draw.uniform(-1.3, 1.3), draw.choice((-1, 1)) * draw.uniform(0.4, 1.6)
    coupling = lambda: {"re": draw.uniform(-7e-3, 7e-3), "im": draw.uniform(-7e-3, 7e-3)}
    band = lambda name, seconds: {"band": name, "frequency_hz": 1000, "duration_s": seconds, "level_dbfs": -12}
    passage = draw.uniform(4.2, 5.6)
    steps = draw.choice((4, 5, 6))
    gauge = ({"stated": 0, "error": 0}, {"stated": 0.02, "error": 0.02}, {"stated": None, "error": 0.03})[seed % 3]
    session = {"cartridge": "Millbrook Three", "bands": ["left", "right", "lateral"]}
    if gauge["stated"] is not None:
        session["gauge_u_deg"] = gauge["stated"]
    return gauge, {
        "schema": "evenwall/scenario/1", "name": f"twin {seed}", "sample_rate_hz": draw.choice((44100, 48000)), "bits": draw.choice((16, 24)),
        "record": {
            "bands": [band(None, 1.5), band("left", passage), band(None, 1.2), band("right", passage), band(None, 1.2), band("lateral", 3), band(None, 1)],
            "cut_error_left_deg": draw.uniform(-0.4, 0.4), "cut_error_right_deg": draw.uniform(-0.4, 0.4),
            "cut_level_difference_db": draw.uniform(-0.3, 0.3), "wow_percent": 0.12, "warp_deg": 0.1, "warp_second_deg": 0.03,
            "flutter_percent": 0.04, "speed_error_percent": draw.uniform(-0.3, 0.3)},
        "cartridge": {
            "generator_error_left_deg": common + shear, "generator_error_right_deg": common - shear, "coupling_right_into_left": coupling(),
            "coupling_left_into_right": coupling(), "gain_imbalance_db": draw.uniform(-1, 1), "interchannel_phase_deg": draw.uniform(-3, 3),
            "second_harmonic_percent": 1, "third_harmonic_percent": 0.3},
        "noise": {"surface_noise_db": draw.uniform(-52, -44), "clicks_per_s": 1, "rumble_db": -42, "hum_db": -50},
        "steps": [{"tilt_deg": round(-2.4 + 4.8 * i / (steps - 1), 2)} for i in range(steps)],
        "gauge_error_u_deg": gauge["error"], "session": session}


class Twins(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        cls.rscript = shutil.which("Rscript")
        cls.sessions = {}
        for seed in SEEDS:
            folder = cls.folder / str(seed)
            gauge, planned = scenario(seed)
            (cls.folder / "scenario.json").write_text(json.dumps(planned))
            run(PROGRAM, "simulate", "--scenario", cls.folder / "scenario.json", "--seed", seed, "-o", folder, "--quiet")
            ours = json.loads(run(PROGRAM, "solve", folder, "--json", "--quiet"))
            cls.sessions[seed] = {"ours": ours, "scipy": session_twin.twin(folder), "stated": gauge["stated"]}
            if cls.rscript and gauge["stated"] is not None:
                cls.sessions[seed]["r"] = cls.by_r(folder, planned, gauge["stated"])
            shutil.rmtree(folder)

    @classmethod
    def by_r(cls, folder, planned, stated):
        readings = folder / "readings.jsonl"
        for number, step in enumerate(planned["steps"], 1):
            run(PROGRAM, "measure", folder / f"step-{number:02}.wav", "--tilt-deg", step["tilt_deg"], "--session", folder / "session.json",
                "--append", readings, "--quiet")
        number = lambda word: None if word == "NA" else float(word)
        keys = ("least_deg", "u_least_deg", "equal_deg", "u_equal_deg")
        return dict(zip(keys, map(number, run(cls.rscript, HERE / "readings_twin.R", readings, stated).strip().split(","))))

    def compare(self, twin, least_deg):
        least, equal = [], []
        for seed, session in self.sessions.items():
            if twin not in session:
                continue
            ours, theirs = session["ours"], session[twin]
            least.append(ours["least_crosstalk"]["tilt_deg"] - theirs["least_deg"])
            # Without a stated gauge the program allows for correlated errors, which the twin does not.
            apart = least_deg if session["stated"] is not None else max(least_deg, 0.25 * ours["least_crosstalk"]["u_deg"])
            with self.subTest(twin, seed=seed, theirs=theirs, ours=ours["least_crosstalk"]["tilt_deg"]):
                self.assertLess(abs(least[-1]), apart)
            if not ours["equal_crosstalk"]["determined"]:
                continue
            off = ours["equal_crosstalk"]["tilt_deg"] - theirs["equal_deg"]
            joint = math.hypot(ours["equal_crosstalk"]["u_deg"], theirs["u_equal_deg"])
            equal.append(off / joint)
            with self.subTest(twin, seed=seed, theirs=theirs, ours=ours["equal_crosstalk"]):
                self.assertLess(abs(off), joint)
        print(f"{twin}: {len(least)} sessions, least differs by {max(map(abs, least)):.5f} deg at most; "
              f"{len(equal)} equal points, by {max(map(abs, equal)):.2f} of the joint uncertainty at most")
        self.assertGreater(len(equal), len(least) // 2)

    def test_scipy_gives_the_same_solution_from_the_captures(self):
        self.assertEqual(len(SEEDS), sum("scipy" in s for s in self.sessions.values()))
        self.compare("scipy", LEAST_DEG)

    def test_r_gives_the_same_solution_from_the_readings(self):
        if not self.rscript:
            self.skipTest("Rscript is not installed (r-base-core, r-cran-jsonlite)")
        self.compare("r", R_LEAST_DEG)

    def test_the_uncertainties_agree_with_those_of_scipy(self):
        """If the gauge is stated, both propagate the same spread. The limit of 15 % allows for the frames' own scatter."""
        for seed, session in self.sessions.items():
            if session["stated"]:
                with self.subTest(seed=seed):
                    self.assertAlmostEqual(1, session["ours"]["least_crosstalk"]["u_deg"] / session["scipy"]["u_least_deg"], delta=0.15)


if __name__ == "__main__":
    unittest.main()
