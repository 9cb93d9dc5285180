# SPDX-License-Identifier: GPL-3.0-or-later
"""validate.py SCHEMA DOCUMENT: exits with 0 if each line of DOCUMENT is valid under SCHEMA, else with 1 and the first fault."""
import json
import sys

import jsonschema

with open(sys.argv[1], encoding="utf-8") as f:
    schema = json.load(f)
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)


def refuse_constant(name):
    raise ValueError("not JSON: " + name)


with open(sys.argv[2], encoding="utf-8") as f:
    lines = [line for line in f if line.strip()]
if not lines:
    sys.exit("no document")
for number, line in enumerate(lines, 1):
    fault = next(validator.iter_errors(json.loads(line, parse_constant=refuse_constant)), None)
    if fault is not None:
        sys.exit(f"line {number}: {fault.message[:300]} at {list(fault.absolute_path)}")
