# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks that docs/checks.md lists exactly the checks against outside sources, and no more digits than the program prints."""
import math
import pathlib
import re
import subprocess
import sys
import unittest

ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]
PUBLISHED = sys.argv.pop(1) if len(sys.argv) > 1 else None
STATUS = {"verified", "from memory", "recomputed", "common practice"}
COMMANDS = {"published", "twins", "outside", "outside_bands", "flavours"}


def table(heading):
    """Rows below a heading of docs/checks.md, without the column titles."""
    section = (ROOT / "docs/checks.md").read_text().split(f"## {heading}\n")[1].split("\n## ")[0]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in section.splitlines() if line.startswith("|")]
    return rows[2:]


def tests():
    """(file, name) of every test case under tests/published and tests/reference."""
    found = set()
    for folder in ("published", "reference"):
        for path in sorted((ROOT / "tests" / folder).glob("*_test.cpp")):
            found |= {(path.name, name) for name in re.findall(r'^TEST_CASE\(\s*"((?:[^"\\]|\\.)*)"', path.read_text(), re.M)}
        for path in sorted((ROOT / "tests" / folder).glob("*_test.py")):
            found |= {(path.name, name) for name in re.findall(r"^    def (test_\w+)\(", path.read_text(), re.M)}
    return found


class Checks(unittest.TestCase):
    maxDiff = None

    def test_every_check_has_its_row_and_every_row_its_check(self):
        rows = table("All checks")
        listed = [(row[0], row[1]) for row in rows]
        self.assertEqual(len(listed), len(set(listed)))
        self.assertEqual([], sorted(tests() - set(listed)), "these checks have no row in docs/checks.md")
        self.assertEqual([], sorted(set(listed) - tests()), "these rows have no test")
        self.assertGreater(len(listed), 30)

    def test_rows_are_complete(self):
        for row in table("All checks"):
            with self.subTest(row[1]):
                self.assertEqual(7, len(row))
                self.assertTrue(all(row))
                self.assertIn(row[3], STATUS)
                self.assertIn(row[6], COMMANDS)

    def test_digits_are_what_the_program_prints(self):
        if PUBLISHED is None:
            self.skipTest("no test program given")
        shown = subprocess.run([PUBLISHED, "NIST linear sets*"], capture_output=True, text=True, check=True).stdout
        printed = {name: [math.floor(float(x)) for x in numbers] for name, *numbers in re.findall(r"^(\w+) +([\d.]+) +([\d.]+) +([\d.]+) ", shown, re.M)}
        documented = {row[0]: [int(x) for x in row[1:4]] for row in table("Digits of NIST's reference regressions")}
        self.assertEqual(printed.keys(), documented.keys())
        for name, digits in documented.items():
            with self.subTest(name, printed=printed[name]):
                self.assertTrue(all(d <= p for d, p in zip(digits, printed[name])))


if __name__ == "__main__":
    unittest.main()
