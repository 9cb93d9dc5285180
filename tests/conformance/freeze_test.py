# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests that freeze.py freezes, reports no change if nothing changed, and reports a change of a hundred-millionth. Usage: freeze_test.py PROGRAM"""
import json
import pathlib
import subprocess
import sys
import tempfile
import unittest

PROGRAM = sys.argv.pop(1)
FREEZE = pathlib.Path(__file__).resolve().parent / "freeze.py"


def freeze(*words):
    return subprocess.run([sys.executable, str(FREEZE), PROGRAM, *map(str, words)], capture_output=True, text=True, timeout=300)


class Freeze(unittest.TestCase):
    def test_a_small_change_is_reported_and_an_unchanged_result_is_not(self):
        """Moves one number in each of three documents by a hundred-millionth. To move every number of every document in turn would take an hour."""
        moved = {
            "two_steps_no_lateral_16_bit.solution.json": ("least_crosstalk", "tilt_deg"),
            "two_steps_no_lateral_16_bit.readings.jsonl": ("crosstalk", "right_into_left", "same_passage", "im"),
            "meter_table.solution.json": ("recommended", "u_deg"),
        }
        only = ("--only", *sorted({name.split(".")[0] for name in moved}))
        with tempfile.TemporaryDirectory() as scratch:
            folder = pathlib.Path(scratch) / "frozen"
            self.assertEqual(0, freeze(folder, *only).returncode)
            same = freeze(folder, "--check", *only)
            self.assertEqual(0, same.returncode, same.stdout + same.stderr)
            for name, (*where, last) in moved.items():
                text = (folder / name).read_text()
                first, *others = text.splitlines()
                document = json.loads(first)
                at = document
                for key in where:
                    at = at[key]
                at[last] *= 1 + 1e-8
                (folder / name).write_text("\n".join([json.dumps(document), *others]) + "\n")
                other = freeze(folder, "--check", *only)
                self.assertEqual(1, other.returncode, name)
                scenario, ending, _ = name.split(".")
                found = [line.split(":")[0] for line in other.stdout.splitlines()]
                self.assertEqual([f"{scenario} {ending}{' 1' if ending == 'readings' else ''}/{'/'.join([*where, last])}"],
                                 [line for line in found if f" {ending}" in line])
                (folder / name).write_text(text)

    def test_two_runs_give_the_same_bytes(self):
        with tempfile.TemporaryDirectory() as scratch:
            folders = [pathlib.Path(scratch) / name for name in ("one", "two")]
            only = ("--only", "two_steps_no_lateral_16_bit", "meter_table")
            for folder in folders:
                self.assertEqual(0, freeze(folder, *only).returncode)
            files = sorted(p.name for p in folders[0].iterdir())
            self.assertEqual(3, len(files))
            for name in files:
                self.assertEqual((folders[0] / name).read_bytes(), (folders[1] / name).read_bytes(), name)


if __name__ == "__main__":
    unittest.main()
