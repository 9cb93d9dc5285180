"""kill -9 in the middle of writes and of --append, and many writers at once (row S6).

EVENWALL_LONG=1: 500 kills; else 60.
"""
import json
import os
import random
import shutil
import signal
import subprocess
import tempfile
import time
import unittest

from bench import OLD, PROGRAM, SCENARIO, FaultCase, evenwall

KILLS = 500 if "EVENWALL_LONG" in os.environ else 60
SEED = 20260514
STALE_S = 7200
TORN = '{"schema":"evenwall/reading/1","torn'
WRITERS, LINES_EACH = 12, 10


def age(folder):
    """As if two hours had gone by: what nobody has written for an hour is a left-over."""
    then = time.time() - STALE_S
    for place, _, names in os.walk(folder):
        for name in names:
            os.utime(os.path.join(place, name), (then, then))


class Killed(FaultCase):
    """Writers that are killed, and the files that they leave."""

    def start(self, *words, stdout=subprocess.DEVNULL):
        return subprocess.Popen([PROGRAM, *map(str, words)], stdout=stdout, stderr=subprocess.DEVNULL)

    def kill_after(self, child, seconds):
        try:
            child.wait(timeout=seconds)
            return 0
        except subprocess.TimeoutExpired:
            child.send_signal(signal.SIGKILL)
            return int(child.wait() == -signal.SIGKILL)

    def seconds_of(self, *words):
        """A whole run, so that a kill hits any moment of it, however busy the machine is."""
        start = time.perf_counter()
        self.assertEqual(0, self.start(*words).wait())
        return time.perf_counter() - start

    def strays(self, folder):
        return [n for place in os.walk(folder) for n in place[2] if ".tmp-" in n]

    def test_captures_are_whole_or_not_there(self):
        draw, killed, strays, seen = random.Random(SEED), 0, 0, 0
        scenario = self.put("six.json", json.dumps({**SCENARIO, "steps": [{"tilt_deg": t} for t in range(-3, 3)]}))
        reference = self.folder / "reference"
        start = time.perf_counter()
        self.assertEqual(0, evenwall("simulate", "--scenario", scenario, "-o", reference).status)
        whole_s = time.perf_counter() - start
        whole = {path.name: path.read_bytes() for path in reference.iterdir()}
        for _ in range(KILLS // 2):
            made = self.folder / "made"
            killed += self.kill_after(self.start("simulate", "--scenario", scenario, "-o", made), draw.uniform(0, whole_s))
            for path in made.iterdir() if made.exists() else ():
                if ".tmp-" in path.name:
                    strays += 1
                    continue
                seen += 1
                self.assertEqual(whole[path.name], path.read_bytes(), f"seed {SEED}: {path.name} is torn")
            age(made)
            for path in made.iterdir() if made.exists() else ():
                if ".tmp-" not in path.name:
                    path.unlink()  # else the next run would not simulate over it
            self.assertEqual(0, evenwall("simulate", "--scenario", scenario, "-o", made).status)
            self.assertEqual([], self.strays(made), "left-overs are cleared by the next run")
            shutil.rmtree(made)
        print(f"simulate: {killed} of {KILLS // 2} killed in mid-work, {seen} files whole, 0 torn, {strays} strays, all cleared")
        self.assertGreater(killed, KILLS // 5)

    def test_outputs_are_old_or_new(self):
        draw, killed, states = random.Random(SEED + 1), 0, {"old": 0, "new": 0}
        many = self.captures * 10
        whole_s = self.seconds_of("measure", "--json", *many, "-o", self.folder / "first.json")
        for _ in range(KILLS // 4):
            target = self.put("out.json", OLD)
            killed += self.kill_after(self.start("measure", "--json", *many, "-o", target), draw.uniform(0, 1.2 * whole_s))
            text = target.read_text()
            states["old" if text == OLD else "new"] += 1
            if text != OLD:
                self.assertEqual(len(many), len([json.loads(line) for line in text.splitlines()]))
        age(self.folder)
        self.assertEqual(0, evenwall("measure", self.capture, "-o", self.folder / "out.json").status)
        self.assertEqual([], self.strays(self.folder))
        print(f"measure -o: {killed} of {KILLS // 4} killed; {states}")
        self.assertGreater(killed, KILLS // 16)

    def test_no_line_is_lost(self):
        """A reading goes to standard output first, so what a killed run has printed tells which line it was at."""
        draw, killed, torn = random.Random(SEED + 2), 0, 0  # torn: by a kill in the middle of a write
        lines, promised = self.folder / "bench.jsonl", []
        many = self.captures * 3
        whole_s = self.seconds_of("measure", "--json", "--tilt-deg", 0, *many, "--append", lines)
        for n in range(KILLS // 4):
            with tempfile.TemporaryFile() as out:
                child = self.start("measure", "--json", "--tilt-deg", n % 5 - 2, *many, "--append", lines, stdout=out)
                killed += self.kill_after(child, draw.uniform(0, whole_s))
                out.seek(0)
                told = [line for line in out.read().decode().splitlines(keepends=True) if line.endswith("\n")]
            promised += told if child.returncode == 0 else told[:-1]  # the last one may not have reached the file
        self.assertEqual(0, evenwall("measure", self.capture, "--append", lines).status)
        there = lines.read_text().splitlines(keepends=True)
        for line in there:
            try:
                json.loads(line)
            except ValueError:
                torn += 1
        self.assertEqual([], sorted(set(promised) - set(there)))
        # A session of hundreds of steps takes minutes to solve: the last lines show that the file can be read.
        solved = evenwall("solve", "--json", self.put("last.jsonl", "".join(there[-12:])))
        self.assertEqual(0, solved.status, solved.err)
        print(f"--append: {killed} of {KILLS // 4} killed; {len(promised)} lines promised, 0 lost; {torn} torn, and set apart")
        self.assertGreater(killed, KILLS // 16)

    def test_many_append_at_once(self):
        lines = self.folder / "shared.jsonl"
        lines.write_text(TORN)
        captures = (self.captures * LINES_EACH)[:LINES_EACH]
        children = [self.start("measure", "--tilt-deg", n, *captures, "--append", lines) for n in range(WRITERS)]
        self.assertEqual({0}, {child.wait() for child in children})
        there = lines.read_text().splitlines()
        self.assertEqual(TORN, there[0])
        seen = sorted((json.loads(line)["tilt_deg"], json.loads(line)["capture"]) for line in there[1:])
        self.assertEqual(sorted((float(n), str(c)) for n in range(WRITERS) for c in captures), seen)


if __name__ == "__main__":
    unittest.main()
