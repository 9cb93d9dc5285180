# SPDX-License-Identifier: GPL-3.0-or-later
"""docs/warnings.md has every code that the source warns with, and no other."""
import pathlib
import re
import sys
import unittest

ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]
CODE = r'"([a-z]+(?:_[a-z]+)*)"'
# How the source warns: a Warning in braces pushed or returned, or one of the functions called warn.
WAYS = [rf"push_back\(\s*\{{\s*{CODE},", rf"return \{{\{{{CODE},", rf"\bwarn\((?:\w+,[^;]*?)?{CODE},\s*(?:fmt|\")"]
NO_WARNINGS = {"program", "re", "record", "electronics"}  # keys of JSON and terms of a budget, made in the same way


class WarningCodes(unittest.TestCase):
    def test_the_page_has_each_code_once(self):
        source = "".join(p.read_text() for p in sorted((ROOT / "src").rglob("*.cpp")) if p.parent.name != "report")
        said = {code for way in WAYS for code in re.findall(way, source)} - NO_WARNINGS
        self.assertGreater(len(said), 50)
        listed = re.findall(r"^\| `(\w+)` \|", (ROOT / "docs/warnings.md").read_text(), re.M)
        self.assertEqual(len(listed), len(set(listed)), "a code stands twice")
        self.assertEqual([], sorted(said - set(listed)), "no row in docs/warnings.md")
        self.assertEqual([], sorted(code for code in listed if f'"{code}"' not in source), "nothing warns so")


if __name__ == "__main__":
    unittest.main()
