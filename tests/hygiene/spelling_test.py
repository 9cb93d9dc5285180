# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs codespell over every text of the repository. Usage: spelling_test.py ROOT"""
import pathlib
import subprocess
import sys
import tempfile
import unittest

ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]
# Words that codespell takes for mistakes, and where they come from.
RIGHT = {
    "alog": "aLOG, the logbook that a source is named after", "gost": "GOST, the standards of the Soviet Union", "bu": "the end of .BI in the man page",
    "kno": "kNo, a constant", "nd": "the number of averages in Bendat and Piersol's formulas, and \\nd in a string", "nin": "a part of a name in Python", "recrod": "a mistake that a test makes on purpose",
}
# Pictures, machine-made inputs and results, and the licence, which must not be changed.
LEFT = ("tests/fuzz/corpus/", "tests/conformance/frozen/", "LICENSE")


def run(*files):
    words = ",".join(RIGHT)
    return subprocess.run(["codespell", "--quiet-level", "3", "--ignore-words-list", words, *map(str, files)], cwd=ROOT, capture_output=True, text=True)


class Spelling(unittest.TestCase):
    def test_no_text_has_a_known_misspelling(self):
        folders = ("src", "include", "tests", "docs", "data", "cmake", ".ci")
        found = [*ROOT.glob("*.md"), *ROOT.glob("CMake*.*"), *(path for folder in folders for path in sorted((ROOT / folder).rglob("*")))]
        names = [path.relative_to(ROOT).as_posix() for path in found if path.is_file() and "__pycache__" not in path.parts]
        files = [name for name in names if not name.startswith(LEFT) and not name.endswith((".svg", ".png"))]
        self.assertGreater(len(files), 600)
        self.assertEqual("", run(*files).stdout)

    def test_a_misspelling_is_found(self):
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / "page.md"
            path.write_text("The uncer" "tainity.\n")
            self.assertIn("==> uncertainty", run(path).stdout)


if __name__ == "__main__":
    unittest.main()
