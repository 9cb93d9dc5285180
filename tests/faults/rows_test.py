# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests that each row of the table in docs/reliability.md has a case, and each case a row."""
import ast
import pathlib
import re
import sys
import unittest

HERE = pathlib.Path(__file__).resolve().parent
PAGE = HERE.parents[1] / "docs/reliability.md"
GROUPS = {"F": 30, "C": 21, "L": 16, "J": 10, "I": 7, "A": 7, "W": 4, "S": 10, "D": 11}  # 116 rows


def cases():
    """Returns {row: [names of its cases]} from the test files; a method that asserts nothing does not count."""
    found = {}
    for path in HERE.glob("*_test.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if not isinstance(node, ast.FunctionDef):
                continue
            row = re.match(r"test_([A-Z]\d+)_", node.name)
            calls = [c.func.attr for c in ast.walk(node) if isinstance(c, ast.Call) and isinstance(c.func, ast.Attribute)]
            if row and any(re.match(r"assert|refuse|near|no_answer", name) for name in calls):
                found.setdefault(row[1], []).append(f"{path.name}: {node.name}")
    return found


class Rows(unittest.TestCase):
    def setUp(self):
        self.page = dict(re.findall(r"^\| ([A-Z]\d+) \| (.*) \|$", PAGE.read_text(), re.M))

    def test_the_table_has_every_row_once(self):
        expected = [f"{group}{n}" for group, last in GROUPS.items() for n in range(1, last + 1)]
        self.assertEqual(116, len(expected))
        self.assertEqual(expected, re.findall(r"^\| ([A-Z]\d+) \|", PAGE.read_text(), re.M))

    def test_every_row_has_a_case(self):
        tried = cases()
        self.assertEqual(set(), set(self.page) - set(tried))
        self.assertEqual(set(), set(tried) - set(self.page), "these cases have no row")
        print(f"{len(tried)} of {len(self.page)} rows have a case")


if __name__ == "__main__":
    del sys.argv[1:]
    unittest.main()
