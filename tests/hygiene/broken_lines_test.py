# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks that the list of lines to break (tests/mutation) is valid: each line occurs once in its file, and each test case belongs to its module."""
import pathlib
import sys
import unittest

ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests/mutation"))
from broken_lines import BROKEN_LINES


class BrokenLines(unittest.TestCase):
    def test_there_are_at_least_thirty_lines_and_one_in_every_module(self):
        self.assertGreaterEqual(len(BROKEN_LINES), 30)
        self.assertEqual({p.name for p in (ROOT / "src").iterdir() if p.is_dir()}, {file.split("/")[0] for file, *_ in BROKEN_LINES})

    def test_each_line_occurs_once_and_differs_from_its_broken_form(self):
        for file, line, instead, _ in BROKEN_LINES:
            with self.subTest(file, line=line):
                self.assertEqual(1, [x.strip() for x in (ROOT / "src" / file).read_text().splitlines()].count(line), "choose another line, or write this one as it is now")
                self.assertNotEqual(line, instead)

    def test_each_test_case_belongs_to_the_module(self):
        for file, _, _, case in BROKEN_LINES:
            module = file.split("/")[0]
            texts = "".join(p.read_text() for p in sorted((ROOT / "tests/unit" / module).glob("*_test.cpp")))
            with self.subTest(file, case=case):
                self.assertIn(f'TEST_CASE("{case}"', texts)

    def test_the_page_has_a_row_for_each_line(self):
        rows = [x for x in (ROOT / "docs/mutations.md").read_text().splitlines() if x.startswith("| ") and "`" in x]
        self.assertEqual([(file, case) for file, _, _, case in BROKEN_LINES], [(r.split(" | ")[0].removeprefix("| "), r.rsplit("`: ", 1)[1].removesuffix(" |")) for r in rows])


if __name__ == "__main__":
    unittest.main()
