# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests docs/examples against docs/library.md, and against true values that are computed here from the examples' own input numbers."""
import math
import pathlib
import re
import subprocess
import sys
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAMS = pathlib.Path(sys.argv.pop(1))
EXAMPLES = sorted((ROOT / "docs/examples").glob("*.cpp"))
DEG = math.pi / 180


def shown(name):
    done = subprocess.run([str(PROGRAMS / f"example_{name}")], capture_output=True, text=True)
    if done.returncode != 0 or done.stderr:
        raise AssertionError(f"{name}: {done.returncode} {done.stderr}")
    return done.stdout


def numbers_after(label, text):
    line = re.search(rf"^{label}: (.*)$", text, re.M)
    if line is None:
        raise AssertionError(f"no line '{label}' in\n{text}")
    return [float(x) for x in re.findall(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", line[1])]


def ratios(tilt_deg, left_deg=-1.5, right_deg=-0.9, right_into_left=0.004j, left_into_right=0.003j):
    """Returns (L/R of a right-only groove, R/L of a left-only groove): coil and wall axes as vectors, then the coupling."""
    half = math.sqrt(0.5)

    def turned(x, y, angle_deg):
        a = angle_deg * DEG
        return x * math.cos(a) + y * math.sin(a), -x * math.sin(a) + y * math.cos(a)

    left_coil, right_coil = turned(half, half, tilt_deg + left_deg), turned(half, -half, tilt_deg + right_deg)
    found = []
    for wall in ((half, -half), (half, half)):
        left = left_coil[0] * wall[0] + left_coil[1] * wall[1]
        right = right_coil[0] * wall[0] + right_coil[1] * wall[1]
        found.append((left + right_into_left * right, right + left_into_right * left))
    return found[0][0] / found[0][1], found[1][1] / found[1][0]


class Examples(unittest.TestCase):
    def test_the_page_shows_the_examples_unchanged(self):
        page = (ROOT / "docs/library.md").read_text()
        blocks = re.findall(r"^```cpp\n(.*?)^```", page, re.M | re.S)
        self.assertGreaterEqual(len(EXAMPLES), 3)
        for path in EXAMPLES:
            self.assertIn(path.read_text(), blocks, f"{path.name} is not contained unchanged in docs/library.md")

    def test_the_examples_print_the_output_that_the_page_shows(self):
        page = (ROOT / "docs/library.md").read_text()
        printed = re.findall(r"^```text\n(.*?)^```", page, re.M | re.S)
        for path in EXAMPLES:
            self.assertIn(shown(path.stem), printed, path.name)

    def test_the_measured_buffer_has_its_true_crosstalk(self):
        text = shown("measure_buffer")
        # There is no noise; the only error is rounding to float (6e-8 of full scale, under 1e-5 of the crosstalk).
        self.assertAlmostEqual(1000, numbers_after("tone", text)[0], delta=0.01)
        for way, level_db, phase_deg in (("left into right", -30, 60), ("right into left", -36, -25)):
            level, phase = numbers_after(way, text)
            self.assertAlmostEqual(level_db, level, delta=0.001)
            self.assertAlmostEqual(phase_deg, phase, delta=0.01)

    def test_the_solved_numbers_give_the_true_azimuth(self):
        source = (ROOT / "docs/examples/solve_numbers.cpp").read_text()
        rows = [[float(x) for x in row] for row in re.findall(r"\{(-?[\d.]+), \{(-?[\d.]+), (-?[\d.]+)\}, \{(-?[\d.]+), (-?[\d.]+)\}\}", source)]
        self.assertEqual([-2, -1, 0, 1, 2], [row[0] for row in rows])
        for tilt_deg, *parts in rows:
            rl, lr = ratios(tilt_deg)
            for want, have in zip((rl.real, rl.imag, lr.real, lr.imag), parts):
                self.assertAlmostEqual(want, have, delta=1.1e-5)  # five decimals are printed, and the last may be rounded either way

        def power(t):
            rl, lr = ratios(t)
            return abs(rl) ** 2 + abs(lr) ** 2

        tilts = [i / 1000 for i in range(-3000, 3001)]
        least_deg = min(tilts, key=power)
        equal_deg = min((t for t in tilts if abs(t - least_deg) < 1.5), key=lambda t: abs(abs(ratios(t)[0]) - abs(ratios(t)[1])))
        text = shown("solve_numbers")
        found_deg, u_deg, _, low_deg, high_deg = numbers_after("least crosstalk", text)
        self.assertAlmostEqual(least_deg, found_deg, delta=0.002)  # grid 0.001°, numbers rounded to 1e-5 (0.0006°)
        self.assertTrue(low_deg < least_deg < high_deg)
        self.assertTrue(0.001 < u_deg < 0.03, u_deg)  # the gauge's 0.02° at five tilts gives about 0.01°
        self.assertAlmostEqual(equal_deg, numbers_after("equal crosstalk", text)[0], delta=0.01)

    def test_the_simulated_session_gives_the_true_azimuth(self):
        text = shown("simulate_session")
        # Both coils have an angle error of −1.2°, and there is no other error: their correct azimuth is +1.2°.
        self.assertAlmostEqual(1.2, numbers_after("true value", text)[0], delta=1e-5)
        found_deg, _, low_deg, high_deg = numbers_after("found", text)
        self.assertAlmostEqual(1.2, found_deg, delta=0.01)  # noise at −45 dB, 4 s, five tilts: about 0.001°
        self.assertTrue(low_deg < 1.2 < high_deg)


if __name__ == "__main__":
    unittest.main()
