# SPDX-License-Identifier: GPL-3.0-or-later
"""break_lines.py CMAKE [FOLDER [NUMBER ...]]: breaks one line of src at a time in a copy of the tree, rebuilds only the unit test of its module, and
tabulates in docs/mutations.md which test case failed for it. Exits with 1 if the expected test case passes in spite of a broken line. Takes about
half an hour on two cores. The copy is made in FOLDER, if one is named, and stays there for the next run. With numbers only those lines are broken,
and only their rows are rewritten."""
import contextlib
import filecmp
import html
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from broken_lines import BROKEN_LINES

ROOT = pathlib.Path(__file__).resolve().parents[2]
CMAKE = sys.argv[1] if len(sys.argv) > 1 else "cmake"
KEPT = sys.argv[2] if len(sys.argv) > 2 else None
ONLY = {int(number) for number in sys.argv[3:]}


def copied(to):
    listed = subprocess.run(["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    for name in listed.splitlines():
        source = ROOT / name
        # The copy gets a new modification time, so that the build does not take objects of a broken line for up to date.
        if source.is_file() and not ((to / name).is_file() and filecmp.cmp(source, to / name, shallow=False)):
            (to / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(source, to / name)


def built(build, target):
    return subprocess.run([CMAKE, "--build", build, "--target", target], capture_output=True, text=True)


def failed_cases(build, file):
    """Returns the names of the test cases that fail in the file's own test or, if none fails there, in its module's. A program that crashes lists fewer."""
    program = build / "tests" / f"test_unit_{file.split('/')[0]}"
    for tests in (["-#", f"[#{pathlib.Path(file).stem}_test]"], []):
        run = subprocess.run([program, "-r", "xml", *tests], capture_output=True, text=True, errors="replace", timeout=900)
        if '<TestCase name="' not in run.stdout:
            if tests and not (ROOT / "tests/unit" / file.replace(".cpp", "_test.cpp").replace(".hpp", "_test.cpp")).exists():
                continue  # a header of constants has no test of its own
            raise SystemExit(f"{file}: no test of this file was run")
        failed = [html.unescape(part.split('"', 1)[0]) for part in run.stdout.split('<TestCase name="')[1:] if '<OverallResult success="false"' in part]
        if failed:
            return failed
    return []


def broken(path, line, instead):
    text = path.read_text()
    lines = text.splitlines(keepends=True)
    at = [i for i, candidate in enumerate(lines) if candidate.strip() == line]
    if len(at) != 1:
        raise SystemExit(f"{path}: this line occurs {len(at)} times and not once: {line}")
    lines[at[0]] = lines[at[0]].replace(line, instead)
    return at[0] + 1, text, "".join(lines)


def in_cell(code):
    return "`" + code.replace("|", "\\|") + "`"


PAGE = ROOT / "docs/mutations.md"


def row_of(file, line, instead, seen):
    return f"| {file} | {in_cell(line)} | {in_cell(instead)} | {seen} |"


def by_line(rows):
    """Returns the rows, keyed by what they break."""
    return {tuple(row.split(" | ")[:3]): row for row in rows if row.startswith("| ")}


def table(rows):
    """Returns the page: its present text with the new number of lines, then the rows."""
    text = PAGE.read_text()
    head, marker = text[:text.index("\n| ") + 1], "| file | original line | broken line | test case that fails |\n|---|---|---|---|\n"
    return re.sub(r"(breaks|failed for all) \d+( lines)?", rf"\g<1> {len(rows)}\g<2>", head) + marker + "\n".join(rows) + "\n"


def main():
    wanted = [(number, broken_line) for number, broken_line in enumerate(BROKEN_LINES, 1) if not ONLY or number in ONLY]
    modules = sorted({file.split("/")[0] for _, (file, *_) in wanted})
    rows, passed = [], 0
    with contextlib.nullcontext(KEPT) if KEPT else tempfile.TemporaryDirectory(prefix="evenwall-mutations-") as folder:
        tree = pathlib.Path(folder) / "tree"
        copied(tree)
        build = tree / "build"
        subprocess.run([CMAKE, "-S", tree, "-B", build, "-G", "Ninja", "-DCMAKE_BUILD_TYPE=Release", "-DEVENWALL_UNITY=OFF"], check=True, stdout=subprocess.DEVNULL)
        for module in modules:
            run = built(build, f"test_unit_{module}")
            if run.returncode != 0:
                raise SystemExit(run.stdout + run.stderr)
            run = subprocess.run([build / f"tests/test_unit_{module}"], capture_output=True, text=True)
            if run.returncode != 0:
                raise SystemExit(f"test_unit_{module} fails although no line is broken\n{run.stdout}")
        for number, (file, line, instead, expected) in wanted:
            module = file.split("/")[0]
            path = tree / "src" / file
            _, whole, without = broken(path, line, instead)
            path.write_text(without)
            run = built(build, f"test_unit_{module}")
            if run.returncode != 0:
                raise SystemExit(f"{file}: the broken line does not compile: {instead}\n{run.stdout}{run.stderr}")
            failed = failed_cases(build, file)
            path.write_text(whole)
            seen = expected in failed
            passed += 0 if seen else 1
            print(f"[{number}/{len(BROKEN_LINES)}] {file}: {'detected' if seen else 'NOT DETECTED by the expected test case'}; test cases that fail: {failed}", flush=True)
            rows.append(row_of(file, line, instead, f"`tests/unit/{module}`: {expected}" if seen else "**nothing**"))
    if passed == 0:
        known = {**(by_line(PAGE.read_text().splitlines()) if ONLY else {}), **by_line(rows)}
        wanted_keys = by_line(row_of(*broken_line) for broken_line in BROKEN_LINES)
        # A line without a row was never broken. The KeyError then prevents the page from being written.
        PAGE.write_text(table([known[key] for key in wanted_keys]))
    print(f"mutations: tests detect {len(rows) - passed} of {len(rows)} broken lines")
    return 1 if passed else 0


if __name__ == "__main__":
    sys.exit(main())
