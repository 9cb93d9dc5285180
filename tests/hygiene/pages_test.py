# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks the pages of the documentation: links and anchors, the length of lines, and that the site lists every page. Usage: pages_test.py ROOT"""
import pathlib
import re
import sys
import unittest

ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]
COLUMNS = 120
sys.path.insert(0, str(ROOT / "docs/site"))
from stage import BLOCK, LINK, MOVED, place, staged  # noqa: E402


def pages():
    return [ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "data/README.md", *sorted((ROOT / "docs").rglob("*.md"))]


def prose(text):
    """The text with blank lines in the place of code blocks."""
    return BLOCK.sub(lambda found: re.sub(r"[^\n]", "", found[0]), text)


def anchors(text):
    """What a heading is called in a link, as GitHub and Python-Markdown form it; the same heading twice is not supported."""
    headings = [re.sub(r"[`*]|\]\([^)]*\)|\[", "", found).strip() for found in re.findall(r"^#{1,6} (.*)$", prose(text), re.M)]
    return [re.sub(r"[-\s]+", "-", re.sub(r"[^\w\s-]", "", heading.lower())) for heading in headings]


class Pages(unittest.TestCase):
    def test_every_link_has_a_target(self):
        found = 0
        for page in pages():
            for link in LINK.finditer(prose(page.read_text())):
                target, anchor = link[2], link[3]
                if re.match(r"\w+:", target):
                    continue
                found += 1
                with self.subTest(page.name, link=target + (anchor or "")):
                    file = (page.parent / target).resolve() if target else page
                    self.assertTrue(file.is_file())
                    if anchor:
                        self.assertIn(anchor[1:], anchors(file.read_text()))
        self.assertGreater(found, 40)

    def test_lines_are_short(self):
        long = [(str(page.relative_to(ROOT)), number, len(line)) for page in pages() for number, line in enumerate(prose(page.read_text()).splitlines(), 1)
                if len(line) > COLUMNS and not line.startswith("|")]
        self.assertEqual([], long)

    def test_linked_headings_are_unique(self):
        for page in pages():
            linked = {link[3][1:] for other in pages() for link in LINK.finditer(prose(other.read_text()))
                      if link[3] and ((other.parent / link[2]).resolve() if link[2] else other.resolve()) == page.resolve()}
            found = anchors(page.read_text())
            self.assertEqual([], [anchor for anchor in linked if found.count(anchor) > 1], page.name)

    def test_the_site_lists_every_page(self):
        listed = set(re.findall(r": (\S+\.md)$", (ROOT / "docs/site/mkdocs.yml").read_text(), re.M))
        self.assertEqual({place(page.relative_to(ROOT).as_posix()) for page in pages()}, listed)
        self.assertIn("README.md", MOVED)

    def test_pages_are_staged_with_links_to_their_new_places(self):
        self.assertEqual("[a](manual.md#b) ![c](pictures/d.svg)", staged("[a](docs/manual.md#b) ![c](docs/pictures/d.svg)", "README.md"))
        self.assertEqual("[a](../index.md) [b](#c) [d](https://e.f)", staged("[a](../../README.md) [b](#c) [d](https://e.f)", "docs/manual/units.md"))
        self.assertEqual("*steps.csv*:\n\n```csv\n[a](b.md)\n```", staged("```csv steps.csv\n[a](b.md)\n```", "README.md"))
        with self.assertRaises(SystemExit):
            staged("[a](src/base.hpp)", "README.md")


if __name__ == "__main__":
    unittest.main()
