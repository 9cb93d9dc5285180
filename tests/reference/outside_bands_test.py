# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests sweeps and noise made without the project's simulator: by NumPy and SciPy, and by sox. Usage: outside_bands_test.py PROGRAM [SEEDS]"""
import json
import math
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

# The test run has one session of each kind, or two if rms errors are compared with stated ones. study_outside_bands has ten of each.
TOLD = int(sys.argv.pop(2)) if len(sys.argv) > 2 and sys.argv[2].isdigit() else None
PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
HERE = pathlib.Path(__file__).resolve().parent


def run(*words):
    return subprocess.run([str(w) for w in words], check=True, capture_output=True, timeout=300).stdout


def rms(values):
    return math.sqrt(sum(v * v for v in values) / len(values))


class OutsideBands(unittest.TestCase):
    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp())
        self.addCleanup(shutil.rmtree, self.folder)

    def errors(self, sessions, *words):
        """Returns (error, stated uncertainty) of the least-crosstalk tilt over the seeds: at 1 kHz, and in each third octave from 300 Hz to 6.4 kHz."""
        at_1k, bands = [], {}
        for seed in range(1, 1 + sessions):
            run(sys.executable, HERE / "synthesise_bands.py", self.folder, "--seed", seed, *words)
            solution = json.loads(run(PROGRAM, "solve", self.folder, "--json"))
            truth = {round(t["frequency_hz"]): t["least_crosstalk_deg"] for t in json.loads((self.folder / "truth.json").read_text())["by_frequency"]}
            self.assertEqual(1000, round(solution["frequency_hz"]))
            least = solution["least_crosstalk"]
            at_1k.append((least["tilt_deg"] - truth[1000], least["u_deg"]))
            for entry in solution["by_frequency"]:
                f = round(entry["frequency_hz"])
                if 300 < f < 6400:
                    bands.setdefault(f, []).append((entry["least_crosstalk_deg"] - truth[f], entry["u_least_crosstalk_deg"]))
        self.assertEqual(14, len(bands))
        worst = max(bands, key=lambda f: rms([e for e, _ in bands[f]]))
        print(f"{' '.join(map(str, words))}: {sessions} sessions, 1 kHz rms {rms([e for e, _ in at_1k]):.4f} deg (stated {rms([u for _, u in at_1k]):.4f}), "
              f"worst third octave {worst} Hz rms {rms([e for e, _ in bands[worst]]):.4f} deg (stated {rms([u for _, u in bands[worst]]):.4f})")
        return at_1k, bands

    def check(self, limits, *words, sessions=1):
        at_1k, bands = self.errors(TOLD or sessions, *words)
        self.assertLess(rms([e for e, _ in at_1k]), limits[0])
        for f, values in bands.items():
            self.assertLess(rms([e for e, _ in values]), limits[1], f"{f} Hz")
        return at_1k, bands

    # The limits are the project's own, in degrees: at 1 kHz, and in each third octave from 300 Hz to 6 kHz.
    def test_sweeps_without_warp_give_the_true_azimuth(self):
        self.check((0.006, 0.015), "--kind", "sweep")

    def test_sweeps_with_warp_give_the_true_azimuth(self):
        self.check((0.015, 0.03), "--kind", "sweep", "--warp-deg", 0.08)

    def test_linear_sweeps_downward_with_warp_and_clicks_give_the_true_azimuth(self):
        self.check((0.015, 0.03), "--kind", "linear", "--down", "--warp-deg", 0.08, "--clicks", 2)

    def test_the_stated_uncertainty_covers_resonances_that_resemble_warp(self):
        # A sanitizer runs the same code for each, and it is ten to twenty times slower.
        few = "EVENWALL_SANITIZED" in os.environ
        for resonance in ("8000,3,0.01",) if few else ("8000,3,0.01", "2000,2,0.01"):
            for warp in (0.08,) if few else (0, 0.08):
                at_1k, bands = self.check((0.015, 0.03), "--kind", "sweep", "--resonance", resonance, "--warp-deg", warp, sessions=2)
                # Each third octave's rms error must lie within twice its stated uncertainty: few sessions of one band determine it to a third.
                for f, values in bands.items():
                    self.assertLess(rms([e for e, _ in values]), 2 * rms([u for _, u in values]), f"{f} Hz, resonance {resonance}, warp {warp}")

    def test_pink_noise_gives_the_true_azimuth(self):
        self.check((0.01, 0.01), "--kind", "pink", "--passage-s", 8, "--warp-deg", 0.08)

    def test_white_noise_gives_the_true_azimuth(self):
        self.check((0.01, 0.015), "--kind", "white", "--passage-s", 8)

    def sox_sweep(self, law):
        path, both, gap, whole = (self.folder / n for n in ("mono.wav", "both.wav", "gap.wav", "whole.wav"))
        run("sox", "-R", "-r", 48000, "-b", 32, "-n", path, "synth", 15, "sine", law, "vol", 0.3)
        run("sox", "-R", "-r", 48000, "-b", 32, "-c", 2, "-n", gap, "trim", 0, 1.5)
        run("sox", "-R", path, "-b", 32, both, "remix", "1v1", "1v-0.02")
        run("sox", "-R", "-D", gap, both, gap, "-b", 24, whole)
        return json.loads(run(PROGRAM, "measure", "--json", whole))

    def test_sweeps_by_sox_are_measured(self):
        for law, low in (("40/16000", 40), ("40:16000", 40), ("16000/40", 16000)):
            reading = self.sox_sweep(law)
            (passage,) = reading["passages"]
            self.assertEqual(("sweep", "left"), (passage["kind"], passage["driven"]))
            self.assertAlmostEqual(passage["start_s"], 1.5, delta=0.1)
            self.assertAlmostEqual(passage["end_s"], 16.5, delta=0.1)
            # sox follows f1·(f2/f1)^(t/T) to 6e-4 below 200 Hz, 3e-5 above; the ends are determined to a window, 0.1 s at 40 Hz and 0.01 s at 16 kHz.
            ends = sorted((passage["frequency_from_hz"], passage["frequency_to_hz"]))
            slow = 0.1 * (math.log(400) / 15 * 40 if "/" in law else 1064)
            self.assertAlmostEqual(ends[0], 40, delta=max(slow, 2))
            self.assertAlmostEqual(ends[1], 16000, delta=0.01 * 16000)
            self.assertAlmostEqual(passage["level_left_dbfs"], 20 * math.log10(0.3), delta=0.01)
            self.assertGreater(len(reading["crosstalk_spectrum"]), 15)
            for pair in reading["crosstalk_spectrum"]:
                same = pair["left_into_right"]["same_passage"]
                # 24-bit rounding of a third octave that passes in a twentieth of a second gives 3e-6 or less.
                self.assertLess(abs(complex(same["re"], same["im"]) + 0.02), 1e-5, f"{law} {pair['frequency_hz']}")

    def test_the_frequency_within_a_sweep_can_be_chosen(self):
        run(sys.executable, HERE / "synthesise_bands.py", self.folder, "--seed", 2, "--tilts=-1,1", "--passage-s", 8)
        reading = json.loads(run(PROGRAM, "measure", "--json", "--frequency", 3150, self.folder / "step-1.wav"))
        self.assertEqual(3150, reading["crosstalk"]["frequency_hz"])
        self.assertIn(3150, [p["frequency_hz"] for p in reading["crosstalk_spectrum"]])
        solution = json.loads(run(PROGRAM, "solve", "--json", "--frequency", 2200, self.folder))
        self.assertEqual(2200, solution["frequency_hz"])


if __name__ == "__main__":
    unittest.main(verbosity=2)
