# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests captures made without the project's simulator: by NumPy and SciPy, by sox and by ffmpeg. Usage: outside_captures_test.py PROGRAM"""
import cmath
import json
import math
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from recommended_truth import recommended_truth  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
HERE = pathlib.Path(__file__).resolve().parent
SEEDS = range(1, 9)


def run(*words):
    return subprocess.run([str(w) for w in words], check=True, capture_output=True, timeout=300).stdout


def solve(folder):
    return json.loads(run(PROGRAM, "solve", folder, "--json"))


def leak(reading, side):
    same = reading["crosstalk"][side]["same_passage"]
    return complex(same["re"], same["im"])


class Outside(unittest.TestCase):
    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp())
        self.addCleanup(shutil.rmtree, self.folder)

    def test_numpy_sessions_give_their_true_values(self):
        """NumPy makes wow, flutter, warp, clicks, hum and noise. SciPy's root finders give the true values from the exact matrix."""
        least, recommended = [], []
        for seed in SEEDS:
            folder = self.folder / str(seed)
            run(sys.executable, HERE / "synthesise.py", folder, "--seed", seed, "--passage-s", 4.5 if seed % 2 else 5.4)
            solution, truth = solve(folder), json.loads((folder / "truth.json").read_text())
            least.append(solution["least_crosstalk"]["tilt_deg"] - truth["least_crosstalk_deg"])
            true = recommended_truth(solution["recommended"], truth["least_crosstalk_deg"], truth["equal_crosstalk_deg"])
            recommended.append(solution["recommended"]["tilt_deg"] - true)
            self.assertEqual("as_logged", solution["tilt_response"]["sense"], f"seed {seed}")
            shutil.rmtree(folder)
        rms = lambda x: math.sqrt(sum(e * e for e in x) / len(x))
        print(f"NumPy sessions: {len(least)}, least rms {rms(least):.5f} deg, recommended rms {rms(recommended):.5f} deg")
        self.assertLess(rms(least), 0.003)
        self.assertLess(rms(recommended), 0.005)

    def capture_by_sox(self, name, leak_lr, leak_rl, rate=48000, bits=24):
        """Writes left-only, then right-only 1 kHz. The crosstalk is an attenuated copy of the driven channel (in phase or inverted)."""
        parts = []
        for part, (left, right) in {"left": (1.0, leak_lr), "right": (leak_rl, 1.0)}.items():
            path = self.folder / f"{part}.wav"
            run("sox", "-R", "-r", rate, "-b", 32, "-n", self.folder / "tone.wav", "synth", 5, "sine", 1000, "vol", 0.25)
            run("sox", "-R", self.folder / "tone.wav", "-b", 32, path, "remix", f"1v{left}", f"1v{right}")
            parts += [path]
        gap = self.folder / "gap.wav"
        run("sox", "-R", "-r", rate, "-b", 32, "-c", 2, "-n", gap, "trim", 0, 1.5)
        path = self.folder / name
        run("sox", "-R", "-D", gap, parts[0], gap, parts[1], gap, "-b", bits, path)
        return path

    def test_crosstalk_mixed_by_sox_is_measured(self):
        for lr, rl in ((0.01, 0.02), (-0.0316, 0.005), (0.1, -0.05)):
            reading = json.loads(run(PROGRAM, "measure", "--json", self.capture_by_sox("sox.wav", lr, rl)))
            # 24-bit rounding of a 0.25 tone is 1e-7 per sample, averaged; 2e-6 also allows for sox's 32-bit volume steps.
            self.assertLess(abs(leak(reading, "left_into_right") - lr), 2e-6)
            self.assertLess(abs(leak(reading, "right_into_left") - rl), 2e-6)
            self.assertAlmostEqual(reading["passages"][0]["start_s"], 1.5, delta=0.02)
            self.assertAlmostEqual(reading["passages"][0]["end_s"], 6.5, delta=0.02)

    def test_flac_and_wav_of_one_capture_give_the_same_reading(self):
        wav = self.capture_by_sox("a.wav", 0.02, 0.03)
        flac = self.folder / "a.flac"
        run("sox", "-R", "-D", wav, flac)
        a, b = (json.loads(run(PROGRAM, "measure", "--json", p)) for p in (wav, flac))
        for key in a:
            if key not in ("capture", "audio"):
                self.assertEqual(a[key], b[key], key)

    def test_crosstalk_and_phase_mixed_by_ffmpeg_are_measured(self):
        lr, rl = cmath.rect(0.02, math.radians(-30)), cmath.rect(0.008, math.radians(115))
        tone = "0.3*sin(2*PI*1000*t)"
        turned = lambda z: f"0.3*{abs(z)!r}*sin(2*PI*1000*t+({cmath.phase(z)!r}))"
        left = f"if(between(t,1,6),{tone},if(between(t,7,12),{turned(rl)},0))"
        right = f"if(between(t,1,6),{turned(lr)},if(between(t,7,12),{tone},0))"
        path = self.folder / "ff.wav"
        run("ffmpeg", "-v", "error", "-f", "lavfi", "-i", f"aevalsrc='{left}|{right}':s=48000:d=13", "-c:a", "pcm_s24le", path)
        reading = json.loads(run(PROGRAM, "measure", "--json", path))
        self.assertLess(abs(leak(reading, "left_into_right") - lr), 2e-6)
        self.assertLess(abs(leak(reading, "right_into_left") - rl), 2e-6)

    def test_noise_by_sox_changes_the_crosstalk_within_its_stated_uncertainty(self):
        clean = self.capture_by_sox("clean.wav", 0.02, 0.01)
        noise = self.folder / "noise.wav"
        run("sox", "-r", 48000, "-b", 32, "-c", 2, "-n", noise, "synth", 14.5, "whitenoise", "whitenoise", "vol", 0.004)
        mixed = self.folder / "mixed.wav"
        run("sox", "-R", "-D", "-m", "-v", 1, clean, "-v", 1, noise, "-b", 24, mixed)
        reading = json.loads(run(PROGRAM, "measure", "--json", mixed))
        for side, truth in (("left_into_right", 0.02), ("right_into_left", 0.01)):
            same = reading["crosstalk"][side]["same_passage"]
            # The limit is five standard uncertainties, because the noise in sox's channels has no fixed seed.
            self.assertLess(abs(same["re"] - truth), 5 * same["u_re"])
            self.assertLess(abs(same["im"]), 5 * same["u_im"])
            self.assertLess(same["u_re"], 1e-4)


if __name__ == "__main__":
    unittest.main(verbosity=2)
