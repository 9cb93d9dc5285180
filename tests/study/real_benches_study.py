# SPDX-License-Identifier: GPL-3.0-or-later
"""Measures how often the intervals hold on benches that the analysis was not made with.

Usage: real_benches_study.py PROGRAM [--sessions N] [--only PATTERN] [--pairs] [--json FILE]
For each bench of `CELLS` (with --pairs: for each two of `PAIRED` at half strength), real_benches.py makes N sessions of readings and the program solves them.
A row shows how many were answered, the share of 95 % intervals that held the true value, rms error, median standard uncertainty, the number of errors beyond
4 u and 0.02°, and the common warnings. Exits with 1 if the program fails (not if it refuses), never because of a figure: the figures are to be read.
"""
import argparse
import collections
import concurrent.futures
import itertools
import json
import pathlib
import re
import statistics
import subprocess
import sys

import numpy as np

from real_benches import Bench, case

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from recommended_truth import recommended_truth  # noqa: E402

PLAIN = dict(stated="yes", setting_deg=0.01)
CELLS = {
    "n=2 .01 stated": Bench(settings=2, **PLAIN), "n=2 .05 stated": Bench(settings=2, stated="yes", setting_deg=0.05),
    "n=3 .01 stated": Bench(settings=3, **PLAIN), "n=3 .05 stated": Bench(settings=3, stated="yes", setting_deg=0.05),
    "n=5 .01 stated": Bench(**PLAIN), "n=5 .05 stated": Bench(stated="yes", setting_deg=0.05),
    "n=9 .01 stated": Bench(settings=9, **PLAIN), "n=9 .05 stated": Bench(settings=9, stated="yes", setting_deg=0.05),
    "n=2 .05": Bench(settings=2, setting_deg=0.05), "n=3 .05": Bench(settings=3, setting_deg=0.05), "n=4 .05": Bench(settings=4, setting_deg=0.05),
    "n=5 .05": Bench(setting_deg=0.05), "n=9 .05": Bench(settings=9, setting_deg=0.05), "n=5 .01": Bench(setting_deg=0.01), "n=5 0": Bench(),
    "3x3 .05/.01 stated": Bench(settings=3, repeats=3, stated="yes", setting_deg=0.05, lowering_deg=0.01),
    "3x3 .05/.01": Bench(settings=3, repeats=3, setting_deg=0.05, lowering_deg=0.01),
    "5x2 .05/.01 stated": Bench(repeats=2, stated="yes", setting_deg=0.05, lowering_deg=0.01),
    "5x2 .05/.01": Bench(repeats=2, setting_deg=0.05, lowering_deg=0.01),
    "5x3 .05/.01 stated": Bench(repeats=3, stated="yes", setting_deg=0.05, lowering_deg=0.01),
    "5x3 .05/.01": Bench(repeats=3, setting_deg=0.05, lowering_deg=0.01),
    "3x3 .05/.003 stated": Bench(settings=3, repeats=3, stated="yes", setting_deg=0.05, lowering_deg=0.003),
    "5x2 .05/.02 stated": Bench(repeats=2, stated="yes", setting_deg=0.05, lowering_deg=0.02),
    "5x2 .05/.02": Bench(repeats=2, setting_deg=0.05, lowering_deg=0.02),
    "walk .03 n=4": Bench(settings=4, walk_deg=0.03), "walk .03 n=5": Bench(walk_deg=0.03), "walk .03 n=9": Bench(settings=9, walk_deg=0.03),
    "walk .03 n=4 counted": Bench(settings=4, walk_deg=0.03, stated="counted"), "walk .03 n=5 counted": Bench(walk_deg=0.03, stated="counted"),
    "walk .03 n=9 counted": Bench(settings=9, walk_deg=0.03, stated="counted"), "walk .03 n=9 stated": Bench(settings=9, walk_deg=0.03, stated="yes"),
    "setting .05 counted": Bench(setting_deg=0.05, stated="counted"),
    "backlash .15 up and down": Bench(order="up_and_down", backlash_deg=0.15, setting_deg=0.01),
    "backlash .15 up and down, .02 stated": Bench(order="up_and_down", backlash_deg=0.15, setting_deg=0.02, stated="yes"),
    "backlash .15 one way, .02 stated": Bench(backlash_deg=0.15, setting_deg=0.02, stated="yes"),
    "drift .1 returning, stated": Bench(settings=7, order="returning", drift_deg=0.1, **PLAIN), "drift .1 returning": Bench(settings=7, order="returning", drift_deg=0.1, setting_deg=0.01),
    "drift .1 upward, stated": Bench(drift_deg=0.1, **PLAIN),
    "rounded .5 n=2": Bench(settings=2, rounded_deg=0.5), "rounded .5 n=3": Bench(settings=3, rounded_deg=0.5), "rounded .5 n=4": Bench(settings=4, rounded_deg=0.5),
    "rounded .5 n=5": Bench(rounded_deg=0.5), "rounded .25 n=2": Bench(settings=2, rounded_deg=0.25), "rounded .25 n=4": Bench(settings=4, rounded_deg=0.25),
    "gain drift .3 dB": Bench(gain_drift_db=0.3, **PLAIN), "knob .5 dB": Bench(gain_knob_db=0.5, **PLAIN), "gain jitter .5 dB": Bench(gain_jitter_db=0.5, **PLAIN),
    "delay 40": Bench(delay_deg=40, **PLAIN), "delay each 40": Bench(delay_each_deg=40, **PLAIN), "knob .5 dB, no both-channel band": Bench(gain_knob_db=0.5, both_bands=False, **PLAIN),
    "delay each 40, no both-channel band": Bench(delay_each_deg=40, both_bands=False, **PLAIN), "gain drift .3 dB, not stated": Bench(gain_drift_db=0.3, setting_deg=0.02),
    "gain jitter .5 dB n=3": Bench(settings=3, gain_jitter_db=0.5, stated="yes", setting_deg=0.02),
    "one of 5 flipped": Bench(flipped=1, **PLAIN), "two of 5 flipped": Bench(flipped=2, **PLAIN), "one of 5 swapped": Bench(swapped=1, **PLAIN),
    "one swapped, one flipped": Bench(swapped=1, flipped=1, **PLAIN),
    "slopes .1 %": Bench(slope_error=0.001, **PLAIN), "slopes .3 %": Bench(slope_error=0.003, **PLAIN), "slopes 1 %": Bench(slope_error=0.01, **PLAIN), "slopes 1 %, stated": Bench(slope_error=0.01, slope_stated=0.01, **PLAIN),
    "compression 3 %": Bench(compression=0.03, stated="yes", setting_deg=0.02),
    "compression 3 %, one-sided": Bench(compression=0.03, one_sided=True, stated="yes", setting_deg=0.02),
    "compression 3 %, third harmonic measured": Bench(compression=0.03, third_harmonic_measured=True, stated="yes", setting_deg=0.02),
    "compression 1.5 %, third harmonic measured": Bench(compression=0.015, third_harmonic_measured=True, stated="yes", setting_deg=0.02),
    "compression 5 %, third harmonic measured": Bench(compression=0.05, third_harmonic_measured=True, stated="yes", setting_deg=0.02),
    "third harmonic .1 % of the record": Bench(own_third_percent=0.1, third_harmonic_measured=True, stated="yes", setting_deg=0.02),
    "third harmonic .5 % of the record": Bench(own_third_percent=0.5, third_harmonic_measured=True, stated="yes", setting_deg=0.02),
    "third harmonic 1 % of the record": Bench(own_third_percent=1.0, third_harmonic_measured=True, stated="yes", setting_deg=0.02),
    "offset arm .073": Bench(arm_offset=0.073, stated="yes", setting_deg=0.05), "offset arm .073, one-sided": Bench(arm_offset=0.073, one_sided=True, stated="yes", setting_deg=0.05),
    "quadrature -40 dB": Bench(quadrature=0.01, **PLAIN), "quadrature -30 dB": Bench(quadrature=0.0316, **PLAIN),
    "one wrong of 5, .05 stated": Bench(wrong_rows=1, stated="yes", setting_deg=0.05), "one wrong of 5": Bench(wrong_rows=1, setting_deg=0.02),
    "exchanged, .05 stated": Bench(exchanged=True, stated="yes", setting_deg=0.05), "exchanged": Bench(exchanged=True, setting_deg=0.05),
    "two wrong of 7, .05 stated": Bench(settings=7, wrong_rows=2, stated="yes", setting_deg=0.05), "two wrong of 7": Bench(settings=7, wrong_rows=2, setting_deg=0.03),
}
PAIRED = ("5x2 .05/.01", "walk .03 n=5", "backlash .15 up and down", "drift .1 returning", "rounded .25 n=4", "gain drift .3 dB, not stated", "gain jitter .5 dB",
          "delay each 40", "one of 5 flipped", "slopes .3 %", "compression 3 %", "offset arm .073", "quadrature -30 dB", "one wrong of 5")


def solved(program, one):
    run = subprocess.run([program, "solve", "--json", "--quiet", "-"], input="\n".join(map(json.dumps, one.readings)), capture_output=True, text=True, timeout=120)
    if run.returncode not in (0, 1) or "fault of this program" in run.stderr:
        raise SystemExit(f"the program failed: {run.stderr}")
    return json.loads(run.stdout) if run.returncode == 0 else None


class Score:
    """Collects the errors of one answer over a cell's sessions."""

    def __init__(self):
        self.error, self.u, self.held = [], [], []

    def take(self, told, true):
        self.error.append(told["tilt_deg"] - true)
        self.u.append(told["u_deg"])
        self.held.append(told["interval95_deg"][0] <= true <= told["interval95_deg"][1])

    def figures(self):
        if not self.error:
            return {"answered": 0}
        e, u = np.array(self.error), np.array(self.u)
        return {"answered": len(e), "held_percent": 100 * float(np.mean(self.held)), "rms_deg": float(np.sqrt(np.mean(e * e))), "median_u_deg": statistics.median(self.u),
                "rms_over_u": float(np.sqrt(np.mean(e * e) / np.mean(u * u))), "far": int(np.sum((np.abs(e) > 4 * u) & (np.abs(e) > 0.02)))}


def cell(program, bench, sessions, first):
    least, equal, number, exists = Score(), Score(), Score(), 0
    warnings = collections.Counter()
    for seed in range(first, first + sessions):
        one = case(bench, seed)
        solution = solved(program, one)
        if solution is None:
            continue
        least.take(solution["least_crosstalk"], one.least)
        exists += one.equal is not None
        if solution["equal_crosstalk"]["determined"] and one.equal is not None:
            equal.take(solution["equal_crosstalk"], one.equal)
        answer = solution["recommended"]
        if answer.get("interval95_units"):  # from method version 3 on
            scale = one.least / one.number if one.number else 1.0
            true = recommended_truth(answer, one.least, one.equal)
            if true is not None:
                number.take({"tilt_deg": answer["tilt_units"], "u_deg": answer["u_units"], "interval95_deg": answer["interval95_units"]}, true / scale)
        warnings.update({w["code"] for w in solution["warnings"]})
    return {"sessions": sessions, "least": least.figures(), "equal": equal.figures(), "equal_exists": exists, "number": number.figures(),
            "warnings": {code: count for code, count in warnings.most_common() if count > 0.02 * sessions}}


def row(name, r):
    least, equal = r["least"], r["equal"]
    if not least["answered"]:
        return f"| {name} | 0 | | | | | | | refused |"
    said = ", ".join(f"{code} {100 * count // r['sessions']} %" for code, count in list(r["warnings"].items())[:4])
    of_equal = f"{equal['held_percent']:.0f} ({100 * equal['answered'] / max(1, r['equal_exists']):.0f})" if equal["answered"] else "– (0)"
    return (f"| {name} | {100 * least['answered'] / r['sessions']:.0f} | {least['held_percent']:.1f} | {least['rms_deg']:.4f} | {least['median_u_deg']:.4f} | "
            f"{least['rms_over_u']:.2f} | {least['far']} | {of_equal} | {said} |")


def side_by_side(before, after):
    """Prints the two results' cells as docs/accuracy.md shows them."""
    def of(score):
        if not score["answered"]:
            return "refused | |"
        return f"{score['held_percent']:.0f} | {score['rms_deg']:.4f}° / {score['median_u_deg']:.4f}° | {score['far']}"

    def equal(r):
        e = r["equal"]
        return f"{e['held_percent']:.0f} ({100 * e['answered'] / max(1, r['equal_exists']):.0f})" if e["answered"] else "– (0)"

    print("| bench | before: answered % | held % | rms error / median u | far | equal: held % (given %) | after: answered % | held % | rms error / median u | far "
          "| equal: held % (given %) | number held % |\n|" + "---|" * 12)
    for name, old in before.items():
        if name not in after:
            continue
        new = after[name]
        answered = [100 * r["least"]["answered"] / r["sessions"] for r in (old, new)]
        number = f"{new['number']['held_percent']:.0f}" if new["number"]["answered"] else "–"
        print(f"| {name} | {answered[0]:.0f} | {of(old['least'])} | {equal(old)} | {answered[1]:.0f} | {of(new['least'])} | {equal(new)} | {number} |")


def main():
    if sys.argv[1:2] == ["--table"]:
        return side_by_side(*(json.loads(pathlib.Path(name).read_text()) for name in sys.argv[2:4]))
    parser = argparse.ArgumentParser(description="Use --table BEFORE.json AFTER.json to print two results side by side.")
    parser.add_argument("program")
    parser.add_argument("--sessions", type=int, default=250)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--only", default="")
    parser.add_argument("--pairs", action="store_true")
    parser.add_argument("--json")
    a = parser.parse_args()
    cells = CELLS
    if a.pairs:
        cells = {f"{x} + {y}": CELLS[x].weaker(0.5).with_also(CELLS[y].weaker(0.5)) for x, y in itertools.combinations(PAIRED, 2)}
    wanted = {name: bench for name, bench in cells.items() if re.search(a.only, name)}
    if not wanted:
        raise SystemExit(f"no bench matches {a.only}")
    print("| bench | answered % | least held % | rms ° | u ° | rms/u | beyond 4 u, .02° | equal held % (given %) | warnings |\n|---|---|---|---|---|---|---|---|---|", flush=True)
    results = {}
    with concurrent.futures.ProcessPoolExecutor(2) as pool:
        jobs = {name: pool.submit(cell, a.program, bench, a.sessions, a.first) for name, bench in wanted.items()}
        for name, job in jobs.items():
            results[name] = job.result()
            print(row(name, results[name]), flush=True)
    if a.json:
        with open(a.json, "w", encoding="utf-8") as out:
            json.dump(results, out, indent=1)
    return 0


if __name__ == "__main__":
    sys.exit(main())
