# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests that the n-th allocation, or all from the n-th on, may fail (row D6 in finer steps).

EVENWALL_FAILING_MALLOC names the shared object of failing_malloc.cpp. EVENWALL_LONG=1: every n of measure, every third of solve.
"""
import collections
import json
import os
import re
import shutil
import tempfile
import unittest
from concurrent.futures import ThreadPoolExecutor

from bench import OLD, SANITIZED, FaultCase, evenwall

A_READING = '{"schema":"evenwall/reading/1"}\n'
LONG = "EVENWALL_LONG" in os.environ
SHIM = os.environ.get("EVENWALL_FAILING_MALLOC")


@unittest.skipIf(SANITIZED, "sanitizers have their own malloc")
class Memory(FaultCase):
    """Tests commands that get no memory."""

    def words(self, name, out):
        return {"measure": ["measure", "--json", "--jobs", 1, self.capture, "-o", out], "append": ["measure", "--jobs", 1, self.capture, "--append", out],
                "solve": ["solve", "--json", "--jobs", 1, self.session, "-o", out]}[name]

    def one(self, name, how, n):
        place = tempfile.mkdtemp(dir=self.folder)
        out = os.path.join(place, "out")
        with open(out, "w") as file:
            file.write(A_READING if name == "append" else OLD)
        run = evenwall(*self.words(name, out), wrap=["env", f"LD_PRELOAD={SHIM}", f"{how}={n}"], limit_s=60)
        with open(out) as file:
            text = file.read()
        strays = [f for f in os.listdir(place) if ".tmp-" in f]
        shutil.rmtree(place)
        wrong = None
        if run.status not in (0, 1) or run.status == 1 and not re.fullmatch(r"(evenwall: [^\n]+\n)+", run.err):
            wrong = "a wrong exit status or message"
        elif strays:
            wrong = f"left behind {strays}"
        elif name == "append":
            wrong = None if text.startswith(A_READING) and self.whole(text[len(A_READING):], run) else "a torn or missing line"
        elif text != OLD and not self.whole(text, run):
            wrong = "neither old nor new"
        return run.status, wrong and f"{name} {how}={n}: {wrong}: status {run.status}, {run.err!r}"

    @staticmethod
    def whole(text, run):
        if not text:
            return run.status == 1
        try:
            return bool(json.loads(text))
        except ValueError:
            return False

    def count(self, name):
        told = self.folder / "count"
        self.assertEqual(0, evenwall(*self.words(name, self.put("first", "")), wrap=["env", f"LD_PRELOAD={SHIM}", f"FAIL_COUNT={told}"]).status)
        return max(map(int, told.read_text().split()))  # the larger count of the two processes

    def test_every_allocation_fails_in_turn(self):
        self.assertTrue(SHIM and os.path.exists(SHIM), "EVENWALL_FAILING_MALLOC must name a file")
        jobs = []
        for name, long_step in (("measure", 1), ("append", 1), ("solve", 3)):
            last = self.count(name)
            jobs += [(name, how, n) for how in ("FAIL_AT", "FAIL_FROM") for n in range(1, last + 1, long_step if LONG else 1 + last // 97)]
        with ThreadPoolExecutor(2) as pool:
            results = list(pool.map(lambda job: self.one(*job), jobs))
        statuses, faults = collections.Counter(s for s, _ in results), [wrong for _, wrong in results if wrong]
        print(f"allocations failed: {len(results)} runs; by exit status: {dict(sorted(statuses.items()))}; wrong: {len(faults)}")
        self.assertEqual([], faults[:20])
        self.assertGreater(statuses[1], 100)


if __name__ == "__main__":
    unittest.main()
