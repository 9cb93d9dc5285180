# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests every malformed kind of file, and mutants of good files: each run ends with status 0 or 1, within 2 s and 64 MiB.

EVENWALL_LONG=1: ten times as many mutants.
"""
import collections
import os
import random
import re
import tempfile
import unittest
from concurrent.futures import ThreadPoolExecutor

import containers as c
import malformed
from bench import MOST_RSS_KIB, SANITIZED, FaultCase, evenwall

LEAST_KINDS = 65
MUTANTS_EACH = 2000 if "EVENWALL_LONG" in os.environ else 40 if SANITIZED else 200
MOST_S = 2
SEED = 19550214


class Malformed(FaultCase):
    """Tests files that no correct program writes."""

    def kinds(self):
        return {**malformed.wav_kinds(self.samples), **malformed.other_kinds(self.samples, c.flac(self.capture))}

    def test_every_malformed_file_is_answered_or_refused_as_expected(self):
        kinds = self.kinds()
        self.assertGreaterEqual(len(kinds), LEAST_KINDS)
        for name, (content, expected) in kinds.items():
            with self.subTest(name):
                run = self.measure(content)
                if expected == malformed.REFUSE:
                    self.assertRefused(run, "bench.wav", limit_s=MOST_S)
                elif expected is None:
                    self.assertIn(run.status, (0, 1), run.err)
                    self.assertWithinLimits(run, MOST_S)
                else:
                    self.assertAnswered(run, *expected, limit_s=MOST_S)

    def originals(self):
        s = self.samples
        return {"wav": self.good, "float": malformed.floats(s), "rf64": c.rf64(s), "w64": c.w64(s), "aiff": c.aiff(c.swapped(s)), "flac": c.flac(self.capture)}

    def wrong_with(self, content, name):
        with tempfile.NamedTemporaryFile(dir=self.folder, suffix=".wav") as file:
            file.write(content)
            file.flush()
            run = evenwall("measure", "--json", file.name, limit_s=60)
            wrong = None
            if run.status not in (0, 1) or "fault of this program" in run.err:
                wrong = "crash"
            elif not SANITIZED and (run.seconds > MOST_S or run.rss_kib > MOST_RSS_KIB):
                wrong = "too slow or too large"
            elif run.status == 1 and not re.fullmatch(r"evenwall: [^\n]+\n", run.err):
                wrong = "the message is not one line"
            elif re.search(r"\b(nan|inf)\b", run.out, re.I):
                wrong = "inf or nan in the document"
        return run.status, wrong and f"seed {SEED}, {name}: {wrong}: status {run.status}, {run.seconds:.1f} s, {run.rss_kib} KiB, {run.err!r}"

    def test_mutated_files_give_a_reading_or_one_message(self):
        jobs = []
        for kind, original in self.originals().items():
            jobs += [(kind, i, original) for i in range(MUTANTS_EACH)]

        def one(job):
            kind, i, original = job
            return self.wrong_with(malformed.mutated(original, random.Random(f"{SEED}-{kind}-{i}")), f"{kind} {i}")
        with ThreadPoolExecutor(2) as pool:
            results = list(pool.map(one, jobs))
        statuses, faults = collections.Counter(s for s, _ in results), [wrong for _, wrong in results if wrong]
        print(f"mutants: {len(results)}; by exit status: {dict(sorted(statuses.items()))}; wrong: {len(faults)}")
        self.assertEqual([], faults[:20])
        self.assertGreaterEqual(len(results), 5 * MUTANTS_EACH)
        self.assertGreater(min(statuses[0], statuses[1]), len(results) // 20, "nearly all mutants have the same exit status, so the test proves little")


if __name__ == "__main__":
    unittest.main()
