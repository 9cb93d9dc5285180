# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests unbroken tones, sweeps and noise of minutes and hours: small memory, time in proportion to the length, and correct crosstalk.

EVENWALL_LONG=1: every length up to an hour at 8, 48 and 192 kHz (needs 3 GB of scratch space).
"""
import collections
import os
import unittest

import long_content
from bench import SANITIZED, FaultCase, evenwall

LONG = "EVENWALL_LONG" in os.environ
MOST_MB = 24  # the same limit as in docs/speed.md for an hour of short bands
LENGTHS_S = (100, 151, 170, 400, 1500, 3600) if LONG else (100, 151) if SANITIZED else (100, 151, 170, 400)
RATES = (8000, 48000, 192000) if LONG else (8000, 48000)
KINDS = ("tone", "noise", "sweep", "linear sweep") if LONG else ("tone", "noise", "linear sweep")
START_S = 0.15  # of processor time, for every length
MOST_SPREAD = 2.5  # ratio of the time for a second of audio, longest capture to shortest
TRUTH_DB = -30.0


def combinations():
    """Yields all combinations; in the short run all at 8 kHz, and at 48 kHz only 170 s, near the length where a table once grew without end."""
    for rate in RATES:
        for kind in KINDS:
            for seconds in LENGTHS_S:
                if LONG or rate == 8000 or seconds == 170 or SANITIZED and (kind, seconds) == ("tone", 151):
                    yield rate, kind, seconds


class LongContent(FaultCase):
    """Tests passages that are far longer than those of any record."""

    def measured(self, rate, kind, seconds, seed=1, noise=long_content.NOISE):
        path = long_content.write_capture(self.folder / "long.wav", [(kind, 0, seconds)], rate, seed, noise)
        # A table that grows without end must fail here, and must not use up the machine's memory.
        run = evenwall("measure", "--json", "--jobs", 1, path, limit_s=600, wrap=[] if SANITIZED else ["prlimit", "--as=600000000"])
        path.unlink()
        return run

    def test_memory_and_time_stay_within_their_limits(self):
        cost = collections.defaultdict(dict)
        for rate, kind, seconds in combinations():
            with self.subTest(rate=rate, kind=kind, seconds=seconds):
                run = self.measured(rate, kind, seconds)
                print(f"{rate} Hz, {kind} of {seconds} s: status {run.status}, {run.rss_kib / 1024:.1f} MB, {run.cpu_s:.2f} s", flush=True)
                self.assertIn(run.status, (0, 1), run.err)
                self.assertNotIn("memory", run.err)
                if kind in ("tone", "noise"):
                    self.assertEqual(0, run.status, run.err)
                if not SANITIZED:
                    self.assertLess(run.rss_kib / 1024, MOST_MB)
                cost[rate, kind][seconds] = run.cpu_s
        for (rate, kind), runs in cost.items():
            shortest, longest = min(runs), max(runs)
            if not SANITIZED and kind in ("tone", "noise") and longest > shortest:
                with self.subTest("time", rate=rate, kind=kind):
                    self.assertLess(runs[longest], START_S + MOST_SPREAD * longest / shortest * max(runs[shortest], 0.02))

    def test_the_crosstalk_of_long_tones_has_its_true_value(self):
        """As for a tone of a minute, the scatter over seeds must agree with the standard uncertainty."""
        for seconds in (60, 180, 600):
            strays = []
            for seed in range(12 if LONG else 1 if SANITIZED else 5):
                run = self.measured(8000, "tone", seconds, seed=seed, noise=10 ** (-50 / 20))
                ratio = self.assertAnswered(run)["crosstalk"]["left_into_right"]["same_passage"]
                strays += [(ratio["re"] - long_content.CROSSTALK) / ratio["u_re"], ratio["im"] / ratio["u_im"]]
            with self.subTest(seconds=seconds):
                spread = (sum(s * s for s in strays) / len(strays)) ** 0.5
                print(f"tone of {seconds} s: errors of {spread:.2f} u (root mean square of {len(strays)})")
                if SANITIZED:
                    continue  # two errors show no spread
                # χ² of 10 errors lies between 2.2 and 25.2 in 99 of 100 cases; the scatter of the parts may enlarge u (Birge).
                self.assertLess(spread, 1.6)
                self.assertGreater(spread, 0.4)


if __name__ == "__main__":
    unittest.main()
