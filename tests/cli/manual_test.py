# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs every example of the manual's pages and of the recipes unchanged in a scratch folder and compares the output with the page."""
import pathlib
import re
import sys
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests/support"))
from worked_page import alike, blocks, first_difference, work_through  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
PAGES = [*sorted((ROOT / "docs/manual").glob("*.md")), ROOT / "docs/recipes.md"]


class Manual(unittest.TestCase):
    def test_the_manual_links_to_the_page_of_each_task(self):
        linked = set(re.findall(r"\]\((manual/[^)]+\.md|recipes\.md)\)", (ROOT / "docs/manual.md").read_text()))
        self.assertEqual({str(p.relative_to(ROOT / "docs")) for p in PAGES}, linked)
        self.assertGreaterEqual(len(PAGES), 8)

    def test_pictures_exist_and_have_a_description(self):
        for page in PAGES:
            for words, path in re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", page.read_text(), re.S):
                with self.subTest(page.name, path=path):
                    self.assertTrue((page.parent / path).is_file())
                    self.assertGreater(len(words), 20)

    def test_the_examples_give_the_output_that_the_page_shows(self):
        for page in PAGES:
            with self.subTest(page.name), tempfile.TemporaryDirectory() as folder:
                self.assertGreater(sum(b["kind"] == "sh" and not b["left"] for b in blocks(page.read_text())), 0)
                self.assertEqual([], work_through(page.read_text(), folder, PROGRAM, ROOT))

    def test_the_comparison_detects_differences(self):
        self.assertTrue(alike("a  tilt of +1.12°", "a tilt of +1.13°"))
        self.assertFalse(alike("a tilt of +1.12°", "a tilt of +1.15°"))
        self.assertFalse(alike("a tilt of +1.12°", "a turn of +1.12°"))
        self.assertFalse(alike("5 captures", "6 captures"))
        self.assertTrue(alike("made … files", "made 5 files"))
        self.assertIsNone(first_difference("one\n…\nfour\n", "one\ntwo\nthree\nfour\n"))
        self.assertIn("the output is longer", first_difference("one\n", "one\ntwo\n"))
        self.assertIn("(nothing)", first_difference("one\n…\nfive\n", "one\ntwo\n"))


if __name__ == "__main__":
    unittest.main()
