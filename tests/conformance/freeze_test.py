"""The freezer freezes, sees no change where there is none, and sees one of a hundred-millionth. Usage: freeze_test.py PROGRAM"""
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
    def test_a_small_change_is_seen_and_none_is_not(self):
        with tempfile.TemporaryDirectory() as scratch:
            folder = pathlib.Path(scratch) / "frozen"
            self.assertEqual(0, freeze(folder, "--only", "two_steps").returncode)
            same = freeze(folder, "--check", "--only", "two_steps")
            self.assertEqual(0, same.returncode, same.stdout + same.stderr)
            solution = folder / "two_steps.solution.json"
            document = json.loads(solution.read_text())
            document["least_crosstalk"]["tilt_deg"] *= 1 + 1e-8
            solution.write_text(json.dumps(document))
            other = freeze(folder, "--check", "--only", "two_steps")
            self.assertEqual(1, other.returncode)
            self.assertEqual(["two_steps solution/least_crosstalk/tilt_deg"], [line.split(":")[0] for line in other.stdout.splitlines()])


if __name__ == "__main__":
    unittest.main()
