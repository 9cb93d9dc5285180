# SPDX-License-Identifier: GPL-3.0-or-later
"""Measures the errors caused by records that lean as they turn. Usage: leaning_records_study.py PROGRAM [--grooves N] [--only PATTERN] [--json FILE] [--check]
or leaning_records_study.py --table BEFORE AFTER, with two such files.

For each record of RECORDS, N pairs of grooves are captured three times each (leaning_records.py) and measured by the program. A row shows, in degrees of tilt
along the lean: the Cramér–Rao bound in the capture's white noise; the rms error and median standard uncertainty of a single ratio and the share of 95 %
intervals that held; the same share for the mean of a groove's three captures, which share the groove's part, and the share beyond three uncertainties.
With --check it exits with 1 if a row to which BOUNDS applies does not keep them.
"""
import argparse
import concurrent.futures
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import numpy as np

from leaning_records import DEGREE, NOMINAL_RPM, Groove, Record, bound_deg, capture, falling, write_wav

RECORDS = {f"{seconds} s, .1/k": Record(seconds=seconds, harmonics=falling(0.1)) for seconds in (0.6, 1, 1.5, 3, 5, 10, 20)}
RECORDS |= {f"{size}/k, {seconds} s": Record(seconds=seconds, harmonics=falling(size)) for size in (0.02, 0.2, 0.5) for seconds in (1, 1.5, 5)}
RECORDS |= {f"3rd to 5th .12 to .08, {seconds} s": Record(seconds=seconds, harmonics={3: 0.12, 4: 0.10, 5: 0.08}) for seconds in (5, 15)}
RECORDS |= {
    "bump .5, .3 turns, 2.2 s": Record(seconds=2.2, bump_deg=0.5, bump_turns=0.3),
    "bump .5, .3 turns, 5 s": Record(bump_deg=0.5, bump_turns=0.3),
    "bump .5, .1 turns, 5 s": Record(bump_deg=0.5),
    "16 harmonics .2/k, 5 s": Record(harmonics=falling(0.2, orders=16)),
    "1st .1, 12th .03, 5 s": Record(harmonics={1: 0.1, 12: 0.03}),
}
RECORDS |= {f"{snr} dB, .1/k, 5 s": Record(snr_db=snr, harmonics=falling(0.1)) for snr in (20, 30, 40, 50, 60)}
RECORDS |= {f"45 rpm stated, .2/k, {seconds} s": Record(seconds=seconds, rpm=45, harmonics=falling(0.2)) for seconds in (1, 1.5, 5)}
RECORDS |= {
    f"{rpm:.3g} rpm not stated, .2/k, {seconds} s": Record(seconds=seconds, rpm=rpm, stated=False, harmonics=falling(0.2))
    for rpm in (NOMINAL_RPM, 45, 78.26)
    for seconds in (1, 1.5, 3, 5)
}
RECORDS |= {
    "2 % fast, .1/k, 10 s": Record(seconds=10, fast=0.02, harmonics=falling(0.1)),
    "0.3 % fast, .2/k, 110 s": Record(seconds=110, fast=0.003, harmonics=falling(0.2)),
    "phase 60°, .1/k, 5 s": Record(beta_deg=60, harmonics=falling(0.1)),
    "2 clicks/s, .1/k, 5 s": Record(clicks_per_s=2, harmonics=falling(0.1)),
    "10 clicks/s, .1/k, 5 s": Record(clicks_per_s=10, harmonics=falling(0.1)),
    "40 clicks/s, .1/k, 5 s": Record(clicks_per_s=40, harmonics=falling(0.1)),
    "rumble −30 dBFS, .1/k, 5 s": Record(rumble_dbfs=-30, harmonics=falling(0.1)),
    "flutter 0.1 %, .1/k, 5 s": Record(flutter=0.001, harmonics=falling(0.1)),
    "flutter, rumble −35, 5 clicks/s, 40 dB, .2/k, 3 s": Record(seconds=3, snr_db=40, flutter=0.001, rumble_dbfs=-35, clicks_per_s=5, harmonics=falling(0.2)),
    "no lean, 5 s": Record(),
    "no lean, 35 dB, 10 s": Record(seconds=10, snr_db=35),
}
RECORDS |= {
    f"{kind}, {name}, {seconds} s": Record(kind=kind, seconds=seconds, harmonics=harmonics)
    for kind, lengths in (("sweep", (6, 12, 25)), ("pink", (12,)))
    for seconds in lengths
    for name, harmonics in (("no lean", {}), (".1/k", falling(0.1)), ("3rd to 5th .12 to .08", {3: 0.12, 4: 0.10, 5: 0.08}))
}
# Least share of intervals that hold, %, and largest rms error, as a multiple of the bound. They apply to passages of 2.2 s and more, in which the
# lean should add no error.
BOUNDS = (90.0, 1.3)
MOST_BAND_DEG = {"sweep": 0.003, "pink": 0.0045}  # rms error of third octaves
FULL_TURNS_S = 2.2


def measured(program, record, samples, folder):
    """Returns ratio, u_re and u_groove by frequency, of the left-only and the right-only band; empty if refused. Sweeps and noise: 300 Hz to 6.5 kHz."""
    path = pathlib.Path(folder) / f"{id(samples)}.wav"
    write_wav(path, samples, record.rate_hz)
    speed = ["--rpm", f"{record.rpm:.6f}"] if record.stated else []
    run = subprocess.run([program, "measure", path, "--json", "--quiet", *speed], capture_output=True, text=True)
    path.unlink()
    sides = [{}, {}]
    if run.returncode != 0:
        return sides
    reading = json.loads(run.stdout)
    for pair in [reading["crosstalk"]] if record.kind == "tone" else reading["crosstalk_spectrum"]:
        hz = pair["frequency_hz"]
        for found, side in zip(sides, ("left_into_right", "right_into_left")):
            ratio = (pair.get(side) or {}).get("same_passage")
            if ratio and 300 < hz < 6500:
                found[round(hz) if record.kind != "tone" else 0] = complex(ratio["re"], ratio["im"]), ratio["u_re"], ratio.get("u_groove", 0.0)
    return sides


def along(record, error):
    """Returns the error along the lean in degrees. Its uncertainty is stated for the real part."""
    return (error * np.exp(-1j * DEGREE * (record.beta_deg if abs(record.beta_deg) > 30 else 0))).real / DEGREE


def of_groove(program, name, record, number, folder):
    """Returns one row for each frequency and side, with the results of its captures."""
    rng = np.random.default_rng([number, *name.encode()])
    grooves = [Groove(record, rng), Groove(record, rng)]
    captures = [measured(program, record, capture(record, *grooves, rng), folder) for _ in range(3)]
    rows = []
    for side, groove in enumerate(grooves):
        for hz in sorted(set().union(*(c[side] for c in captures))) or [None]:
            found = [c[side][hz] for c in captures if hz in c[side]]
            rows.append([(along(record, value - groove.ratio), u / DEGREE, u_groove / DEGREE) for value, u, u_groove in found])
    return rows


def row_of(program, name, record, grooves):
    with tempfile.TemporaryDirectory() as folder, concurrent.futures.ThreadPoolExecutor(2) as pool:
        rows = [row for pair in pool.map(lambda number: of_groove(program, name, record, number, folder), range(grooves)) for row in pair]
    full = [np.array(row) for row in rows if len(row) == 3]
    bound = bound_deg(record) if record.kind == "tone" else None
    if not full:
        return {"bound": bound, "refused": len(rows)}
    single = np.concatenate(full)
    means = np.array([row[:, 0].mean() for row in full])
    noise2 = np.array([np.maximum(row[:, 1] ** 2 - row[:, 2] ** 2, 0).mean() for row in full])
    u_means = np.sqrt(np.array([(row[:, 2] ** 2).mean() for row in full]) + noise2 / 3)
    return {
        "bound": bound,
        "rms": float(np.sqrt((single[:, 0] ** 2).mean())),
        "u": float(np.median(single[:, 1])),
        "held": float(100 * np.mean(np.abs(single[:, 0]) < 1.96 * single[:, 1])),
        "held_means": float(100 * np.mean(np.abs(means) < 1.96 * u_means)),
        "beyond_3u": float(100 * np.mean(np.abs(means) > 3 * u_means)),
        "refused": len(rows) - len(full),
    }


def cell(row):
    if "rms" not in row:
        return "refused | | | |"
    return f"{row['rms']:.4f}° | {row['u']:.4f}° | {row['held']:.0f} | {row['held_means']:.0f} ({row['beyond_3u']:.0f})"


def shown(bound):
    return f"{bound:.4f}°" if bound else "–"


def kept(record, row):
    if "rms" not in row or row["refused"] or row["held"] < BOUNDS[0]:
        return False
    return row["rms"] <= (MOST_BAND_DEG[record.kind] if record.kind in MOST_BAND_DEG else BOUNDS[1] * row["bound"])


def table(before, after):
    print("| record | bound | rms | u | held | means (beyond 3 u) | now: rms | u | held | means (beyond 3 u) |\n|---|---|---|---|---|---|---|---|---|---|")
    for name, row in after.items():
        if name in before:
            print(f"| {name} | {shown(row['bound'])} | {cell(before[name])} | {cell(row)} |")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program", nargs="?")
    parser.add_argument("--grooves", type=int, default=20)
    parser.add_argument("--only", default="")
    parser.add_argument("--json", type=pathlib.Path)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--table", nargs=2, type=pathlib.Path)
    options = parser.parse_args()
    if options.table:
        table(*(json.loads(path.read_text()) for path in options.table))
        return 0
    found, off = {}, 0
    for name, record in RECORDS.items():
        if not re.search(options.only, name):
            continue
        row = found[name] = row_of(options.program, name, record, options.grooves)
        text = f"{name:50s} bound {shown(row['bound'])}"
        if "rms" in row:
            text += f"  rms {row['rms']:.4f}  u {row['u']:.4f}  held {row['held']:5.1f}  means {row['held_means']:5.1f} ({row['beyond_3u']:.1f})"
        text += f"  refused {row['refused']}"
        if options.check and record.seconds >= FULL_TURNS_S and not kept(record, row):
            off += 1
            text += "  (this row is beyond its bounds)"
        print(text, flush=True)
    if options.json:
        options.json.write_text(json.dumps(found, indent=1))
    return 1 if off else 0


sys.exit(main())
