# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks the turns that the program states for recordings at azimuths that no log states.

Usage: no_gauge_study.py PROGRAM [--folders N] [--sessions N] [--check]
N folders of recordings without a log, and N sessions of readings, each with a cartridge and 2 to 5 azimuths of no_gauge_sessions.py, are solved. A row shows
the rms error of the turn, the median standard uncertainty, the share of 95 % intervals that hold, and in how many sessions the direction was named, was not
known, or was wrong. If the direction is not known, the turn is compared with the one that the unseen wiring shows.

With --check it exits with 1 unless
 - every session is answered,
 - no direction is wrong, and each direction is named if the bands are stated and the turn exceeds three uncertainties,
 - the rms error is at most 0.02°,
 - the share of intervals that hold is from 93 % to 98 %, or within the 1 % points of the binomial distribution with 95 % if the sessions are fewer than 500.
These bounds were chosen before the first run.
"""
import argparse
import json
import math
import pathlib
import statistics
import subprocess
import sys
import tempfile

from scipy import stats

from no_gauge_sessions import BANDS, readings_of, session, write_folder

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from recommended_truth import recommended_truth  # noqa: E402

RMS_DEG, SHARES, ENOUGH, TAIL = 0.02, (93.0, 98.0), 500, 0.01


def solved(program, arguments, text=None):
    run = subprocess.run([program, "solve", "--json", "--quiet", *arguments], input=text, capture_output=True, text=True, timeout=300)
    if run.returncode not in (0, 1) or "fault of this program" in run.stderr:
        raise SystemExit(f"the program failed: {run.stderr}")
    return json.loads(run.stdout) if run.returncode == 0 else None


class Score:
    def __init__(self, name):
        self.name, self.errors, self.u, self.held, self.by_count = name, [], [], 0, {}
        self.named = self.unknown = self.wrong = self.refused = self.unnamed = 0

    def take(self, one, solution, number):
        if solution is None:
            self.refused += 1
            print(f"{self.name} {number}: no answer")
            return
        answer, sense = solution["recommended"], solution["tilt_response"]["sense"]
        true = recommended_truth(answer, one.least, one.equal)
        seen = true * one.unseen_sign if sense == "undecided" else true
        assert answer["from_capture"].startswith(("take-", "step-")) and answer["tilt_units"] is None
        error = answer["tilt_deg"] - seen
        self.errors.append(error)
        self.by_count.setdefault(len(one.tilts), []).append(error)
        self.u.append(answer["u_deg"])
        self.held += answer["interval95_deg"][0] <= seen <= answer["interval95_deg"][1]
        side, direction = solution["shim"]["raises"], solution["now"]["direction"]
        assert (side is None) == (direction is None) and (side == "spindle_side") == (direction == "clockwise"), (side, direction)
        assert abs(solution["now"]["turn_deg"] - answer["tilt_deg"]) < 1e-9
        if side is None:
            self.unknown += 1
            self.unnamed += one.bands == BANDS["all"] and abs(answer["tilt_deg"]) > 3 * answer["u_deg"]
        elif (side == "spindle_side") == (true > 0):
            self.named += 1
        else:
            self.wrong += 1
            print(f"{self.name} {number}: direction wrong: {answer['tilt_deg']:+.3f} for {true:+.3f}")
        if abs(error) > 4 * answer["u_deg"]:
            print(f"{self.name} {number}: error {error:+.4f}, u {answer['u_deg']:.4f}, {len(one.tilts)} recordings")

    def rms(self, errors=None):
        errors = self.errors if errors is None else errors
        return math.sqrt(sum(e * e for e in errors) / len(errors))

    def row(self):
        counts = ", ".join(f"{n}: {self.rms(e):.4f}" for n, e in sorted(self.by_count.items()))
        return (f"{self.name}: {len(self.errors)} solved, rms {self.rms():.4f} deg ({counts}), median u {statistics.median(self.u):.4f}, "
                f"held {100 * self.held / len(self.errors):.1f} %, direction named {self.named}, not known {self.unknown}, wrong {self.wrong}")

    def faults(self):
        n = len(self.errors)
        low, high = SHARES if n >= ENOUGH else (100 * stats.binom.ppf(p, n, 0.95) / n for p in (TAIL, 1 - TAIL))
        share = 100 * self.held / n
        rules = [(self.refused == 0, f"{self.refused} sessions were not answered"), (self.wrong == 0, f"{self.wrong} directions were wrong"),
                 (self.unnamed == 0, f"{self.unnamed} clear directions were not named"), (self.rms() <= RMS_DEG, f"rms {self.rms():.4f}"),
                 (low <= share <= high, f"{share:.1f} % of the intervals hold, not {low:.1f} to {high:.1f} %")]
        return [f"{self.name}: {text}" for holds, text in rules if not holds]


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("--folders", type=int, default=100)
    parser.add_argument("--sessions", type=int, default=1000)
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()
    folders, sessions = Score("folders of recordings"), Score("readings")
    for number in range(options.folders):
        one = session(number)
        with tempfile.TemporaryDirectory() as folder:
            write_folder(one, number, folder)
            folders.take(one, solved(options.program, [folder]), number)
    for number in range(options.folders, options.folders + options.sessions):
        one = session(number)
        sessions.take(one, solved(options.program, ["-"], readings_of(one, number)), number)
    faults = []
    for score in (s for s in (folders, sessions) if s.errors):
        print(score.row())
        faults += score.faults()
    for fault in faults if options.check else []:
        print(fault)
    sys.exit(1 if options.check and faults else 0)


if __name__ == "__main__":
    main()
