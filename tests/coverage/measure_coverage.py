# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the tests of a build with EVENWALL_COVERAGE and lists in docs/coverage.md which part of src they ran. Use: measure_coverage.py CTEST BUILD UNCONFINED"""
import collections
import json
import os
import pathlib
import shutil
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
CTEST, BUILD, UNCONFINED = sys.argv[1], pathlib.Path(sys.argv[2]), sys.argv[3]
# The tests that check results. The fault tests, which kill, starve or flood the program, would raise the figures without checking results.
TESTS = "^(unit_.*|published|truth|conformance.*|cli|cli_.*|examples|outside_.*|flavours|twins|no_gauge|evening|fuzz_.*)$"
LEAST_LINES_PERCENT = 98.0
LOW_FILE_PERCENT = 95.0


def counted():
    for old in BUILD.rglob("*.gcda"):
        old.unlink()
    # Counting takes time, so a test with a time limit may fail here; the lines that it ran are still counted.
    subprocess.run([CTEST, "--test-dir", BUILD, "-R", TESTS, "--output-on-failure"], check=False,
                   env={**os.environ, "LD_PRELOAD": UNCONFINED})  # so that a process of the program may write its counts
    gcov = shutil.which("gcov-12") or "gcov"
    # The compiler adds a few branches to each call that only an exception takes; they are not decisions of the source, so they are excluded.
    command = ["gcovr", "--root", ROOT, "--object-directory", BUILD, "--gcov-executable", gcov, "--filter", str(ROOT / "src") + "/",
               "--exclude", str(ROOT / "src/app") + "/", "--exclude-throw-branches", "--json-summary", "-"]
    run = subprocess.run([*map(str, command), str(BUILD)], capture_output=True, text=True)
    if run.returncode != 0:
        raise SystemExit(run.stderr)
    return json.loads(run.stdout)


def percent(covered, total):
    return 100.0 * covered / total if total else 100.0


def row(name, c):
    return (f"| {name} | {c['line_covered']} of {c['line_total']} | {percent(c['line_covered'], c['line_total']):.1f} | "
            f"{c['branch_covered']} of {c['branch_total']} | {percent(c['branch_covered'], c['branch_total']):.1f} |")


def page(summary):
    modules = collections.defaultdict(collections.Counter)
    keys = ("line_covered", "line_total", "branch_covered", "branch_total")
    for file in summary["files"]:
        module = pathlib.Path(file["filename"]).parts[1]
        for name in (module, "all"):
            modules[name].update({k: file[k] for k in keys})
    everything = modules.pop("all")
    low = sorted((f for f in summary["files"] if percent(f["line_covered"], f["line_total"]) < LOW_FILE_PERCENT), key=lambda f: f["filename"])
    # The page's text as it stands, up to its tables.
    head = [(ROOT / "docs/coverage.md").read_text().split("## Modules\n")[0] + "## Modules", "", "| module | lines run | % | branches taken | % |", "|---|---|---|---|---|"]
    body = [row(name, modules[name]) for name in sorted(modules)] + [row("**all**", everything)]
    shares = [percent(everything[f"{kind}_covered"], everything[f"{kind}_total"]) for kind in ("line", "branch")]
    body += ["", f"In all, the tests run {shares[0]:.1f} % of the lines and {shares[1]:.1f} % of the branches."]
    tail = ["", "## Files below 95 % of lines", "", "| file | lines run | % | branches taken | % |", "|---|---|---|---|---|",
            *(row(f"`{f['filename']}`", f) for f in low)] if low else []
    return everything, "\n".join(head + body + tail) + "\n"


def main():
    everything, text = page(counted())
    (ROOT / "docs/coverage.md").write_text(text)
    print(text)
    lines = percent(everything["line_covered"], everything["line_total"])
    return 0 if everything["line_total"] > 3000 and lines >= LEAST_LINES_PERCENT else 1


sys.exit(main())
