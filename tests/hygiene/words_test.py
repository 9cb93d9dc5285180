# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks that docs/warnings.md, the JSON Schemas, the completion and the pages' lists have exactly the words of evenwall/words.hpp."""
import json
import pathlib
import re
import subprocess
import sys
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[2]
PRINTED = subprocess.run([sys.argv.pop(1)], capture_output=True, text=True, check=True).stdout.splitlines()
WORDS = {row["table"]: row["words"] for row in map(json.loads, PRINTED)}
# The table of each key of a document. "kind" and the like are keys of one document only.
TABLE_OF = {
    "use": "StepUse", "bands": "Band", "band": "Band", "signal": "SimulatedSignal", "kind": "PassageKind", "driven": "Driven", "relation": "Relation",
    "basis": "Basis", "scope": "Scope", "used": "BalanceSource", "sense": "Sense", "raises": "Side", "place_shim_at": "Side", "flags": "StepFlag",
    "code": "ReadingFault", "from": "TurnFrom", "direction": "TurnDirection", "state": "VerdictState", "what": "CorrectedCause",
    "aim": "Aim", "weighting": "Weighting", "name": "Candidate",
}


def listed(node, key=""):
    """Every list of words below a node of a schema, with the key that has this list."""
    if isinstance(node, list):
        for inner in node:
            yield from listed(inner, key)
    elif isinstance(node, dict):
        if any(isinstance(word, str) for word in node.get("enum", [])):
            yield key, [word for word in node["enum"] if word is not None]
        for name, inner in node.items():
            keyword = name in ("properties", "items", "anyOf", "oneOf", "allOf", "$defs")
            yield from listed(inner, key if keyword else name)


class Words(unittest.TestCase):
    def test_no_table_contains_a_word_twice(self):
        self.assertEqual(set(TABLE_OF.values()) | {"WarningCode"}, set(WORDS))
        header = (ROOT / "include/evenwall/words.hpp").read_text()
        self.assertEqual(set(re.findall(r"\bkNamesOf<(\w+)>\{", header)), set(WORDS), "print_words must print all tables")
        for table, words in WORDS.items():
            self.assertEqual(len(words), len(set(words)), table)
            self.assertGreater(len(words), 1, table)

    def test_the_schemas_list_the_words_of_the_tables(self):
        seen = set()
        for path in sorted((ROOT / "docs").glob("*.schema.json")):
            for key, words in listed(json.loads(path.read_text())):
                self.assertIn(key, TABLE_OF, f"{path.name}: {key} has a list of words, but no table is assigned to it")
                self.assertEqual(WORDS[TABLE_OF[key]], words, f"{path.name}: {key}")
                seen.add(key)
        self.assertEqual(set(TABLE_OF), seen, "no schema lists the words of these keys")

    def test_the_page_of_warnings_has_each_code_once(self):
        codes = re.findall(r"^\| `(\w+)` \|", (ROOT / "docs/warnings.md").read_text(), re.M)
        self.assertEqual(WORDS["WarningCode"], codes)

    def test_the_source_gives_a_warning_with_each_code(self):
        source = "".join(path.read_text() for path in sorted((ROOT / "src").rglob("*.[ch]pp")))
        used = set(re.findall(r"(?<![=!]= )WarningCode::(k\w+)", source))  # codes that are only compared are not reported
        named = {"k" + "".join(part.capitalize() for part in code.split("_")) for code in WORDS["WarningCode"]}
        self.assertEqual([], sorted(named - used), "the source gives no warning with these codes")

    def test_the_completion_offers_the_words_of_the_tables(self):
        script = (ROOT / "docs/evenwall.bash").read_text()
        self.assertEqual(WORDS["StepUse"], re.search(r'--use\) _evenwall_words "\$typed" ([\w ]+) ;;', script)[1].split())
        self.assertEqual(WORDS["Band"], re.search(r"for band in ([\w ]+); do", script)[1].split())

    def test_the_pages_list_the_words_of_the_tables(self):
        formats = (ROOT / "docs/formats.md").read_text()
        self.assertEqual(WORDS["StepUse"], re.findall(r"`(\w+)`", re.search(r"^\| `use` \|(.*)\|$", formats, re.M)[1]))
        manual = (ROOT / "docs/manual.md").read_text()
        self.assertEqual(WORDS["StepUse"], re.findall(r"`(\w+)`", re.search(r"^\| `--use WORD` \|(.*)\|$", manual, re.M)[1]))
        page = (ROOT / "docs/evenwall.1").read_text()
        for option, table in (("use", "StepUse"), ("bands", "Band")):
            entry = re.search(rf'^\.BI \\-\\-{option} " \w+"\n(.*?)^\.TP', page, re.M | re.S)[1]
            bold = " ".join(re.findall(r"^\.BR? (.*)$", entry, re.M))
            self.assertEqual(WORDS[table], re.findall(r"\w+", bold))


if __name__ == "__main__":
    unittest.main()
