# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests kill -9 during writes and during --append, and many writers at once (rows S6 and A1).

EVENWALL_LONG=1: 250 kills of `simulate`, 125 of `measure -o` and 500 of `--append`; otherwise 30, 15 and 30.
"""
import json
import os
import random
import re
import shutil
import signal
import subprocess
import threading
import time
import unittest

from bench import OLD, PROGRAM, SCENARIO, FaultCase, evenwall

KILLS = 500 if "EVENWALL_LONG" in os.environ else 60
APPEND_KILLS = 500 if "EVENWALL_LONG" in os.environ else 30
SEED = 20260514
STALE_S = 7200
TILT_STEP_DEG = 0.01  # between the runs that are killed, so that each run gives new readings
TORN = '{"schema":"evenwall/reading/1","torn'
WRITERS, LINES_EACH = 12, 10


def age(folder):
    """Dates the files back by two hours: a temporary file that was not written for an hour is a left-over."""
    then = time.time() - STALE_S
    for place, _, names in os.walk(folder):
        for name in names:
            os.utime(os.path.join(place, name), (then, then))


class Killed(FaultCase):
    """Tests writers that are killed, and the files that they leave."""

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
        """Returns the time of a whole run, so that a kill can come at any moment of it, however busy the machine is."""
        start = time.perf_counter()
        self.assertEqual(0, self.start(*words).wait())
        return time.perf_counter() - start

    def strays(self, folder):
        return [n for place in os.walk(folder) for n in place[2] if ".tmp-" in n]

    def test_a_killed_simulate_leaves_only_whole_captures(self):
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
                    path.unlink()  # otherwise the next run would refuse to write over it
            self.assertEqual(0, evenwall("simulate", "--scenario", scenario, "-o", made).status)
            self.assertEqual([], self.strays(made), "the next run must remove the temporary files")
            shutil.rmtree(made)
        print(f"simulate: {killed} of {KILLS // 2} runs killed, {seen} files whole, 0 torn, {strays} temporary files, all removed by the next run")
        self.assertGreater(killed, KILLS // 5)

    def test_a_killed_measure_leaves_the_old_or_the_new_output(self):
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
        print(f"measure -o: {killed} of {KILLS // 4} runs killed; {states}")
        self.assertGreater(killed, KILLS // 16)

    def twelve_captures(self):
        """Returns twelve recordings, because the same reading is added only once."""
        scenario = self.put("twelve.json", json.dumps({**SCENARIO, "steps": [{"tilt_deg": t / 4} for t in range(-6, 6)]}))
        self.assertEqual(0, evenwall("simulate", "--scenario", scenario, "-o", self.folder / "twelve").status)
        return sorted((self.folder / "twelve").glob("*.wav"))

    def shown(self, text):
        """Returns the captures with a reading that was shown whole, in either view."""
        whole = text[:text.rfind("\n") + 1]
        if text.startswith("{"):
            return [json.loads(line)["capture"] for line in whole.splitlines()]
        return re.findall(r"^(\S+\.wav)$", whole, re.M)

    def killed_while_adding(self, words, kill, seconds, readings):
        """Returns (captures shown, 1 if killed); kills the run after that many readings in the pipe, or, if `readings` is 0, after `seconds`."""
        child = subprocess.Popen([PROGRAM, *map(str, words)], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, start_new_session=True)
        timer = threading.Timer(seconds, kill, (child.pid, signal.SIGKILL))
        if not readings:
            timer.start()
        seen = b""
        while block := os.read(child.stdout.fileno(), 1 << 16):
            seen += block
            if readings and len(self.shown(seen.decode())) >= readings:
                kill(child.pid, signal.SIGKILL)
                readings = 0
        status = child.wait()
        timer.cancel()
        child.stdout.close()
        return self.shown(seen.decode()), int(status == -signal.SIGKILL)

    def test_A1_each_shown_reading_is_stored(self):
        """The file has the whole line of each reading that standard output has, whichever process is killed, and at any time."""
        draw, killed, shown, lost = random.Random(SEED + 2), 0, 0, []
        lines, captures = self.folder / "bench.jsonl", self.twelve_captures()
        whole_s = self.seconds_of("measure", "--json", "--tilt-deg", -1, *captures, "--append", lines)
        for n in range(APPEND_KILLS):
            tilt_deg = round(n * TILT_STEP_DEG, 2)
            words = ["measure", *(["--json"] if n % 2 else []), "--tilt-deg", tilt_deg, *captures, "--append", lines]
            # Half of the kills come just when a reading is shown, the worst moment. Half hit only the writer, half hit both processes.
            seen, was_killed = self.killed_while_adding(words, os.kill if n % 8 < 4 else os.killpg, draw.uniform(0, whole_s),
                                                        draw.randrange(1, len(captures)) if n % 4 < 2 else 0)
            kept = {(reading["tilt_deg"], reading["capture"]) for reading in self.readings_in(lines)}
            killed += was_killed
            shown += len(seen)
            lost += [(tilt_deg, capture) for capture in seen if (tilt_deg, capture) not in kept]
        for capture, tilt in zip(self.captures, (-1.5, 0, 1, 2)):
            self.assertEqual(0, evenwall("measure", capture, "--tilt-deg", tilt, "--append", lines).status)
        there = lines.read_text().splitlines(keepends=True)
        torn = len(there) - len(self.readings_in(lines))
        print(f"--append: {killed} of {APPEND_KILLS} runs killed; {shown} readings shown, {len(lost)} of them lost; {torn} torn lines")
        self.assertEqual([], lost, "readings were shown, but are not in the file")
        self.assertGreater(killed, APPEND_KILLS // 4)
        self.assertGreater(shown, APPEND_KILLS // 4, "no kill came late enough, so the test proves nothing")
        solved = evenwall("solve", "--json", self.put("last.jsonl", "".join(there[-4:])))  # the file remains usable
        self.assertEqual(0, solved.status, solved.err)

    def readings_in(self, lines):
        """Returns the readings of the whole lines; a kill may tear a line."""
        found = []
        for line in lines.read_text().splitlines():
            try:
                found.append(json.loads(line))
            except ValueError:
                pass
        return found

    def test_simultaneous_writers_append_whole_lines(self):
        lines = self.folder / "shared.jsonl"
        lines.write_text(TORN)
        captures = self.twelve_captures()[:LINES_EACH]
        children = [self.start("measure", "--tilt-deg", n, *captures, "--append", lines) for n in range(WRITERS)]
        self.assertEqual({0}, {child.wait() for child in children})
        there = lines.read_text().splitlines()
        self.assertEqual(TORN, there[0])
        seen = sorted((json.loads(line)["tilt_deg"], json.loads(line)["capture"]) for line in there[1:])
        self.assertEqual(sorted((float(n), str(c)) for n in range(WRITERS) for c in captures), seen)


if __name__ == "__main__":
    unittest.main()
