# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads the program's table of ranges (src/base/ranges_table.hpp), for tests and for the documents generated from it."""
import json
import subprocess


class Ranges:
    def __init__(self, printer):
        lines = subprocess.run([printer], check=True, capture_output=True, text=True).stdout.splitlines()
        self.rows = [json.loads(line) for line in lines]
        self.by_name = {(row["family"], row["key"]): row for row in self.rows}

    def of(self, family, parent, key):
        """The row of a key, as range_of finds it. The parts of a complex number use the row of its key."""
        for name in (f"{parent}/{key}", key, *([parent] if key in ("re", "im") else [])):
            if (family, name) in self.by_name:
                return self.by_name[family, name]
        raise KeyError((family, parent, key))

    @staticmethod
    def keywords(row):
        """The range as keywords of JSON Schema."""
        def number(x):
            return int(x) if x == int(x) and abs(x) < 1e15 else x
        return {"exclusiveMinimum" if row["low_excluded"] else "minimum": number(row["low"]),
                "exclusiveMaximum" if row["high_excluded"] else "maximum": number(row["high"])}
