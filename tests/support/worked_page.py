# SPDX-License-Identifier: GPL-3.0-or-later
"""Works through a page of the manual: writes its files, runs its commands and compares the output shown with the actual output.

In a page, in order and in one scratch folder:
- a block ```KIND PATH (csv, json, python …) is written to that path;
- a block ```sh is run by bash, with the program on its path;
- a block ```text after it is the expected output: … matches anything, a number with decimals may differ by two units of its last digit.
A block ```sh after a line `<!-- not run: why -->` is not run.
"""
import os
import pathlib
import re
import subprocess

BLOCK = re.compile(r"(?P<left><!-- not run: [^\n]+ -->\n)?^```(?P<kind>\w+)(?: (?P<path>\S+))?\n(?P<body>.*?)^```$", re.M | re.S)
LIMIT_S = 300 * (5 if "EVENWALL_SANITIZED" in os.environ else 1)  # against hangs only
NUMBER = re.compile(r"(?<![\w.])[+-]?\d+(?:\.\d+)?")


def blocks(text):
    return [m.groupdict() for m in BLOCK.finditer(text)]


def alike(shown, came):
    """Whether two lines are the same except for blanks; numbers with decimals may differ by two units of the last digit."""
    pattern, wanted, at = "", [], 0
    shown = " ".join(shown.split())
    for match in NUMBER.finditer(shown):
        pattern += re.escape(shown[at:match.start()]) + r"([+-]?\d+(?:\.\d+)?)"
        wanted.append(match[0])
        at = match.end()
    pattern = (pattern + re.escape(shown[at:])).replace("…", ".*?")
    found = re.fullmatch(pattern, " ".join(came.split()))
    if not found:
        return False
    unit = lambda number: 10.0 ** -len(number.partition(".")[2])
    return all(abs(float(a) - float(b)) <= (2.01 * unit(a) if "." in a else 0) for a, b in zip(wanted, found.groups()))


def first_difference(shown, came):
    """A text about the first difference between page and output, or None. A line of … alone matches any number of lines."""
    lines, at, free = came.rstrip("\n").split("\n"), 0, False
    for line in shown.rstrip("\n").split("\n"):
        if line.strip() == "…":
            free = True
            continue
        while free and at < len(lines) and not alike(line, lines[at]):
            at += 1
        if at >= len(lines) or not alike(line, lines[at]):
            return f"the page shows:\n{line}\nthe output has:\n{lines[at] if at < len(lines) else '(nothing)'}\nwhole output:\n{came}"
        at, free = at + 1, False
    return None if free or at == len(lines) else f"the output is longer than the page shows:\n{lines[at]}\nwhole output:\n{came}"


def run_block(body, folder, program):
    tools = pathlib.Path(folder) / ".tools"
    tools.mkdir(exist_ok=True)
    if not (tools / "evenwall").exists():
        (tools / "evenwall").symlink_to(program)
    environment = {**os.environ, "PATH": f"{tools}:/usr/bin:/bin", "LC_ALL": "C.UTF-8", "NO_COLOR": "1"}
    return subprocess.run(["bash", "-euo", "pipefail", "-c", body], cwd=folder, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, text=True, timeout=LIMIT_S)


def work_through(text, folder, program, root):
    """Returns each fault as a text."""
    folder = pathlib.Path(folder)
    (folder / "data").symlink_to(pathlib.Path(root) / "data")
    faults, came = [], None
    for block in blocks(text):
        if block["kind"] == "sh" and not block["left"]:
            run = run_block(block["body"], folder, program)
            came = run.stdout
            if run.returncode != 0:
                faults.append(f"status {run.returncode} of:\n{block['body']}\n{came}")
        elif block["kind"] == "text" and came is not None:
            difference = first_difference(block["body"], came)
            if difference:
                faults.append(difference)
            came = None
        elif block["path"]:
            (folder / block["path"]).parent.mkdir(parents=True, exist_ok=True)
            (folder / block["path"]).write_text(block["body"])
    return faults
