# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests captures of generated content: each gives a reading or one message, within limits of memory and time.

EVENWALL_LONG=1: 3,000 captures. EVENWALL_SEED=N: only that one.
"""
import collections
import json
import os
import pathlib
import re
import tempfile
import unittest
from concurrent.futures import ThreadPoolExecutor

import content_mutants
from bench import MOST_RSS_KIB, SANITIZED, FaultCase, evenwall, refuse_constant

CAPTURES = 3000 if "EVENWALL_LONG" in os.environ else 40 if SANITIZED else 120
FIRST_SEED = 20260000
# Processor seconds to start, and for each second of audio (crackle is cleaned in three rounds, linear sweeps are tracked twice).
MOST_START_S, MOST_A_SECOND = 1.0, 0.5
SCHEMA_KEYS = {"schema", "audio", "passages", "crosstalk", "warnings"}


def fault_of(run, seconds):
    """Returns the fault of a run, or an empty text."""
    if run.status not in (0, 1) or "fault of this program" in run.err:
        return "crash"
    if not SANITIZED and run.rss_kib > MOST_RSS_KIB:
        return "too large"
    if not SANITIZED and run.cpu_s > MOST_START_S + MOST_A_SECOND * seconds:
        return "too slow"
    try:
        document = json.loads(run.out, parse_constant=refuse_constant)
    except (ValueError, AssertionError) as wrong:
        return f"no document: {wrong}"
    if run.status == 1:
        return "" if re.fullmatch(r"evenwall: [^\n]*bench[^\n]*: [^\n]{10,}\n", run.err) else "the message is not one line"
    if not SCHEMA_KEYS <= document.keys() or not document["passages"] or any(not w["message"] for w in document["warnings"]):
        return "not a reading"
    return "inf or nan in a text" if re.search(r"\b(nan|inf)\b", run.out, re.I) else ""


class ContentMutants(FaultCase):
    """Tests any content that a recorder may capture."""

    def one(self, seed):
        content, seconds, what = content_mutants.capture(seed)
        with tempfile.NamedTemporaryFile(dir=self.folder, prefix="bench", suffix=".wav") as file:
            file.write(content)
            file.flush()
            run = evenwall("measure", "--json", "--jobs", 1, file.name, limit_s=120)
        wrong = fault_of(run, seconds)
        report = f"seed {seed} ({what}): {wrong}: status {run.status}, {run.cpu_s:.2f} s, {run.rss_kib} KiB, {run.err[:300]!r}"
        return run.status, wrong and report, run.rss_kib, max(0.0, run.cpu_s - 0.05) / max(seconds, 1.0)

    def test_generated_content_gives_a_reading_or_one_message(self):
        seeds = [int(os.environ["EVENWALL_SEED"])] if "EVENWALL_SEED" in os.environ else range(FIRST_SEED, FIRST_SEED + CAPTURES)
        with ThreadPoolExecutor(2) as pool:
            results = list(pool.map(self.one, seeds))
        statuses, faults = collections.Counter(r[0] for r in results), [r[1] for r in results if r[1]]
        print(f"captures: {len(results)}; by exit status: {dict(sorted(statuses.items()))}; wrong: {len(faults)}; "
              f"at most {max(r[2] for r in results) / 1024:.1f} MB and {max(r[3] for r in results):.3f} s for a second of audio")
        pathlib.Path(os.environ.get("EVENWALL_FAULTS_LIST", os.devnull)).write_text("\n".join(faults))
        self.assertEqual([], faults[:20])
        if len(results) > 1:
            self.assertGreater(min(statuses[0], statuses[1]), len(results) // 20, "nearly all captures have the same exit status, so the test proves little")


if __name__ == "__main__":
    unittest.main()
