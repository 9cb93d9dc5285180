# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks that the ranges in docs/*.schema.json and docs/formats.md are those of the program's table; --write writes them there (target `ranges`)."""
import json
import pathlib
import re
import sys
import unittest

sys.dont_write_bytecode = True
ROOT = pathlib.Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests/support"))
from ranges import Ranges  # noqa: E402

RANGES = Ranges(sys.argv.pop(1))
KEYWORDS = ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum")
FAMILIES = ("reading", "solution", "survey", "calibration", "scenario", "truth")
# No command reads a document of true values. The elements of a calibration's matrix have closer limits than the table: 1, or a magnitude of less than 0.9.
UNREAD, HELD_CLOSER = {"truth"}, {("calibration", "matrix")}
PAGE, BEGIN, END = ROOT / "docs/formats.md", "<!-- ranges: written by the target `ranges` -->\n", "<!-- end of ranges -->\n"


def is_number(node):
    kinds = node.get("type", [])
    return bool({"number", "integer"} & set(kinds if isinstance(kinds, list) else [kinds]))


def numbers(schema, node, family, names=()):
    """Every number below a node of a schema: (family, parent key, key, node)."""
    if "$ref" in node:
        node = schema["$defs"][node["$ref"].split("/")[-1]]
    if is_number(node):
        yield family, names[-2] if len(names) > 1 else "", names[-1], node
    for key, value in node.get("properties", {}).items():
        if key != "made_by":
            yield from numbers(schema, value, key if key in ("session", "scenario") else family, (*names, key))
    inner = [node["items"]] if isinstance(node.get("items"), dict) else []
    inner += node.get("prefixItems", []) + [n for word in ("anyOf", "oneOf", "allOf") for n in node.get(word, [])]
    for value in inner:
        yield from numbers(schema, value, family, names)


def schema_with_ranges(path):
    schema = json.loads(path.read_text())
    family = path.name.split(".")[0]
    given = {}  # definitions that several keys share can have one range only
    for owner, parent, key, node in numbers(schema, schema, family):
        if owner in UNREAD or (owner, parent) in HELD_CLOSER:
            continue
        words = Ranges.keywords(RANGES.of(owner, parent, key))
        for word in KEYWORDS:
            node.pop(word, None)
        node.update(words)
        assert given.setdefault(id(node), words) == words, f"{path.name}: {parent}/{key} shares a definition with a key of another range"
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n", len(given)


def page_section():
    lines = ["| document | key | from | to | reason for the limits |\n| --- | --- | --- | --- | --- |\n"]
    for row in RANGES.rows:
        low, high = (f"{row[end]:.10g}{row['unit']}" for end in ("low", "high"))
        low = ("above " if row["low_excluded"] else "") + low + (", whole" if row["whole"] else "")
        lines.append(f"| {row['family']} | `{row['key']}` | {low} | {high} | {row['reason']} |\n")
    return BEGIN + "".join(lines) + END


def page_with_ranges():
    text = PAGE.read_text()
    return text[:text.index(BEGIN)] + page_section() + text[text.index(END) + len(END):]


class Written(unittest.TestCase):
    maxDiff = None
    hint = "build the target `ranges`, and read the difference"

    def test_the_schemas_contain_the_ranges_of_the_table(self):
        for family in FAMILIES:
            path = ROOT / f"docs/{family}.schema.json"
            with self.subTest(path.name):
                text, found = schema_with_ranges(path)
                self.assertGreater(found, 1)
                self.assertTrue(path.read_text() == text, f"{path.name}: {self.hint}")

    def test_the_formats_page_contains_the_ranges_of_the_table(self):
        self.assertTrue(PAGE.read_text() == page_with_ranges(), f"{PAGE.name}: {self.hint}")

    def test_every_row_has_its_reason(self):
        for row in RANGES.rows:
            with self.subTest(row["family"] + " " + row["key"]):
                self.assertLess(row["low"], row["high"])
                self.assertRegex(row["reason"], r"\w{3}")

    def test_rows_are_sorted(self):
        names = [(row["family"].encode(), row["key"].encode()) for row in RANGES.rows]
        self.assertEqual(sorted(set(names)), names)

    def test_the_table_has_a_row_for_each_flag_with_a_number(self):
        """Every flag with a row exists, and every flag for a number has a row."""
        source = "".join((ROOT / "src/app" / name).read_text() for name in ("options.cpp", "option_kinds.cpp", "solve_options.cpp"))
        flags = set(re.findall(r'add_number\(command, "(--[a-z-]+)"', source)) | {"--jobs"}
        self.assertEqual(flags, {row["key"] for row in RANGES.rows if row["family"] == "flag"})


if __name__ == "__main__":
    if "--write" in sys.argv:
        for name in FAMILIES:
            (ROOT / f"docs/{name}.schema.json").write_text(schema_with_ranges(ROOT / f"docs/{name}.schema.json")[0])
        PAGE.write_text(page_with_ranges())
    else:
        unittest.main()
