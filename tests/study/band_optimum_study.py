# SPDX-License-Identifier: GPL-3.0-or-later
"""Compares the azimuth of least and of equal crosstalk over a band with brute force on a model that shares no code with the analysis.

Usage: band_optimum_study.py PROGRAM [--seeds N] [--short] [--locked SHARE] [--independent] [--only PATTERN] [--keep FOLDER]

Each variant has N sessions of five recordings: sweeps, pink noise, or three tones, with an exact gauge or with one that has errors of 0.02°
(band_optimum_records.py). Each session is solved with flat weighting, with A-weighting, and, except tones, over 250 Hz to 5 kHz. The true values are found
by brute force over the third octaves or tones of `by_frequency` that lie within the band (band_optimum_model.py).

Exit status: 2 if solutions have no key `band`; the per-frequency results and the check of the true values themselves are printed all the same. 1 if
 - the true values contradict the formulas for small angles by 10⁻⁴ degrees, or an FFT over whole sweeps by 10⁻³ degrees,
 - a session is not answered, or has no band, or two tones less than an octave apart have one,
 - the rms error of least or of equal crosstalk over the band exceeds 0.005° for a row of sweeps or noise with an exact gauge,
 - less than 90 % of at least 40 intervals of one kind hold,
 - a level or a total over the band of the trade-off is off by 0.05 dB, or a phase by 0.1°.
"""
import argparse
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import numpy as np

from band_optimum_model import THIRDS_HZ, Band, drawn
from band_optimum_records import LOGGED_DEG, Case, least_by_fft, write_session
from band_optimum_scores import MOST_DB, MOST_PHASE_DEG, Row, Single, TradeOff

VARIANTS = {f"{kind}, {name} gauge": (kind, gauge) for kind in ("sweep", "pink", "tones") for name, gauge in (("exact", 0.0), ("0.02 deg", 0.02))}
SETTINGS = {"flat": [], "a": ["--weighting", "a"], "250 Hz to 5 kHz": ["--band", "250-5000"]}
MOST_RMS_DEG, LEAST_SHARE, ENOUGH = 0.005, 90.0, 40
CLOSED_DEG, FFT_DEG = 1e-4, 1e-3


def run(program, *words):
    return subprocess.run([program, *map(str, words)], capture_output=True, text=True, timeout=900)


def readings_of(program, folder):
    """Measures each recording once, so that the session may be solved several times."""
    readings = folder / "readings.jsonl"
    for number, tilt in enumerate(LOGGED_DEG):
        done = run(program, "measure", folder / f"step-{number + 1}.wav", f"--tilt-deg={tilt:g}", "--session", folder / "session.json", "--append", readings,
                   "--quiet", "--jobs", 1)
        if done.returncode != 0:
            print(f"measure failed: {done.stderr.strip()}", flush=True)
    return readings


def solved(program, readings, words=()):
    """Returns the solution, or None and prints the reason."""
    done = run(program, "solve", "--json", "--quiet", *words, readings)
    if done.returncode == 0:
        return json.loads(done.stdout)
    print(f"solve {' '.join(words)}: exit {done.returncode}: {done.stderr.strip()}", flush=True)
    return None


def check_truth():
    """Returns faults of the true values themselves."""
    faults = []
    for weighting in ("flat", "a"):
        off = []
        for seed in range(4):
            band = Band(drawn(seed).scaled(0.1), THIRDS_HZ, weighting)
            off.append(np.abs(np.subtract(band.closed_form_deg(), (band.least_deg(), band.equal_deg()))))
        least, equal = np.max(off, axis=0)
        print(f"true values, {weighting}: least {least:.1e} deg and equal {equal:.1e} deg from the formulas for small angles (limit {CLOSED_DEG:.0e})")
        if max(least, equal) > CLOSED_DEG:
            faults.append("the true values contradict the formulas for small angles")
    case = Case("sweep", 0.0, 1)
    thirds, by_fft = least_by_fft(case, drawn(case.seed))
    off = by_fft - Band(drawn(case.seed), thirds).least_deg()
    print(f"true values: least by FFT over whole sweeps {by_fft:+.4f} deg, {off:+.1e} deg from the model's response (limit {FFT_DEG:.0e})", flush=True)
    if abs(off) > FFT_DEG:
        faults.append("the true values contradict an FFT over whole sweeps")
    return faults


class Study:
    def __init__(self, program, locked, keep):
        self.program, self.locked, self.keep = program, locked, keep
        self.rows, self.singles, self.trade_off, self.faults = {}, {}, TradeOff(), []
        self.sessions, self.answered, self.bands = 0, 0, 0

    def with_readings(self, case, cartridge, use):
        """Calls use(readings) with the readings of the session: those that are kept, or those of recordings in a temporary folder."""
        kept = self.keep / f"{case.kind}-{case.seed}-{case.gauge_deg:g}-{case.locked:g}-{case.stratified:d}.jsonl" if self.keep else None
        if kept and kept.exists():
            return use(kept)
        with tempfile.TemporaryDirectory() as name:
            folder = pathlib.Path(name)
            write_session(case, cartridge, folder)
            readings = readings_of(self.program, folder)
            if kept:
                kept.parent.mkdir(parents=True, exist_ok=True)
                kept.write_text(readings.read_text())
            return use(readings)

    def session(self, variant, case):
        cartridge = drawn(case.seed)

        def use(readings):
            for setting, words in SETTINGS.items():
                if case.kind == "tones" and "--band" in words:
                    continue
                self.sessions += 1
                solution = solved(self.program, readings, words)
                if solution is None:
                    continue
                self.answered += 1
                if setting == "flat":
                    self.singles.setdefault(variant, Single(variant)).take(case, cartridge, solution)
                if "band" not in solution:
                    return
                self.take(variant, setting, case, cartridge, solution)

        self.with_readings(case, cartridge, use)

    def take(self, variant, setting, case, cartridge, solution):
        where = f"{variant}, {setting}, seed {case.seed}"
        if solution["band"] is None:
            self.faults.append(f"{where}: band is null")
            return
        self.bands += 1
        self.rows.setdefault((variant, setting), Row(f"{variant}, {setting}")).take(case, cartridge, solution)
        self.trade_off.take(where, case, cartridge, solution)

    def narrow(self):
        """Two tones less than an octave apart are not a band."""
        case = Case("narrow", 0.0, 1, self.locked)

        def use(readings):
            solution = solved(self.program, readings)
            if solution is None:
                self.faults.append("narrow: no answer")
            elif solution.get("band") is not None:
                self.faults.append("narrow: two tones less than an octave apart have a band")

        self.with_readings(case, drawn(case.seed), use)

    def judge(self):
        """Prints all results and returns the faults."""
        for single in self.singles.values():
            single.show()
        faults = list(self.faults)
        if self.answered < self.sessions:
            faults.append(f"{self.sessions - self.answered} of {self.sessions} solutions are missing")
        pooled = {}
        for (variant, _), row in self.rows.items():
            row.show()
            faults += row.faults
            for name, errors in row.errors.items():
                pooled.setdefault(name, []).extend(errors.held)
                if variant.startswith(("sweep", "pink")) and "exact" in variant and name in ("least", "equal") and errors.rms() > MOST_RMS_DEG:
                    faults.append(f"{row.name}: rms error of {name} is {errors.rms():.4f} deg, more than {MOST_RMS_DEG}")
        for name, held in pooled.items():
            share = 100 * np.mean(held)
            print(f"all, {name}: {share:.1f} % of {len(held)} intervals hold")
            if len(held) >= ENOUGH and share < LEAST_SHARE:
                faults.append(f"{name}: {share:.1f} % of {len(held)} intervals hold, less than {LEAST_SHARE} %")
        if self.rows:
            faults += self.trade_off.show(MOST_DB, MOST_PHASE_DEG)
        return faults


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--short", action="store_true", help="two sessions of each variant")
    parser.add_argument("--locked", type=float, default=0.0, help="share of the noise's power that recurs with the groove")
    parser.add_argument("--independent", action="store_true", help="draw the errors of the gauge independently for each session")
    parser.add_argument("--only", default="", help="a pattern of variants")
    parser.add_argument("--keep", type=pathlib.Path, help="a folder for readings: those that are there are solved, without new recordings")
    options = parser.parse_args()
    faults = check_truth()
    study = Study(options.program, options.locked, options.keep)
    for variant, (kind, gauge) in VARIANTS.items():
        if re.search(options.only, variant):
            for seed in range(options.first, options.first + (2 if options.short else options.seeds)):
                study.session(variant, Case(kind, gauge, seed, options.locked, not options.independent))
    study.narrow()
    faults += study.judge()
    for fault in faults:
        print(f"FAULT: {fault}")
    if not study.bands and not faults:
        print("The solutions have no key band. The results over a band were not compared.")
    return 1 if faults else 0 if study.bands else 2


if __name__ == "__main__":
    sys.exit(main())
