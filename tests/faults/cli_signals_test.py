# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests rows S of docs/reliability.md: the command line, the streams, signals, and the environment of the process."""
import json
import os
import pathlib
import shutil
import signal
import subprocess
import time
import unittest

from bench import PROGRAM, SANITIZED, SCENARIO, FaultCase, await_readiness, evenwall, injected

LONG = {**SCENARIO, "record": {"bands": [{"band": "left", "duration_s": 400}, {"band": "right", "duration_s": 400}]}}




class Process(FaultCase):
    """Tests the process as a shell runs it."""

    def test_S1_wrong_usage(self):
        x, out = self.capture, self.folder / "out"
        for words in (["--what"], ["measure", x, "--tilt-deg"], ["measure", x, "--tilt-deg", "nan"], ["measure", x, "--tilt-deg", "1e999"],
                      ["measure", x, "--tilt-deg", "1", "--tilt-units", "2"], ["solve", self.session, "--json", "--csv"], ["measure", x, "--jobs", "-1"],
                      ["measure", x, "--frequency", "0"], ["measure", x, "--frequency", "1e9"], ["measure", x, "--rpm", "0"], ["measure", x, "--bands", "up"],
                      ["solve"], ["simulate"], ["nonsense"], ["measure", x, "-o"], ["measure", x, "--json=maybe", "-o", out],
                      ["measure", x, "--jobs", "99999999999999999999"], ["simulate", "--scenario", "x", "--seed", "-1", "-o", out]):
            with self.subTest(words):
                self.assertRefused(evenwall(*words, watch=self.folder), "--help", status=2)

    def test_S2_help_and_version_are_quick(self):
        for words in ([], ["--help"], ["--version"], ["measure", "--help"]):
            runs = [evenwall(*words) for _ in range(15)]
            self.assertEqual((0, ""), (runs[0].status, runs[0].err))
            self.assertNotEqual("", runs[0].out)
            if not SANITIZED:
                # GNU time counts processor time in steps of 10 ms. The median of 15 runs must show no more than one step.
                self.assertLess(sorted(run.cpu_s for run in runs)[7], 0.0101)

    def test_S3_a_closed_pipe_gives_exit_status_0(self):
        target = self.folder / "out.jsonl"
        for command in (f'"{PROGRAM}" measure --json {" ".join([str(self.capture)] * 3)} | head -c 1', f'"{PROGRAM}" solve "{self.session}" | true',
                        f'"{PROGRAM}" --help | true', f'"{PROGRAM}" measure --json "{self.capture}" --append "{target}" | true'):
            run = subprocess.run(["bash", "-c", f"set -o pipefail; {command}"], capture_output=True)
            self.assertEqual((0, b""), (run.returncode, run.stderr), command)
        self.assertEqual("evenwall/reading/1", json.loads(target.read_text())["schema"])

    def test_S4_full_device(self):
        with open("/dev/full", "wb") as full:
            for words in (["measure", self.capture], ["solve", self.session], ["--help"], ["--version"], ["measure", "--json", self.capture]):
                with self.subTest(words):
                    run = evenwall(*words, stdout=full)
                    self.assertEqual(1, run.status)
                    self.assertRegex(run.err, r"\Aevenwall: standard output cannot be written: No space left on device\. [^\n]+\n\Z")

    def interrupt(self, number, delay_s):
        """Sends a signal while captures are written. Returns (status, seconds to the end, names of the files that are left)."""
        scenario = self.put("long.json", json.dumps(LONG))
        target = self.folder / f"made-{time.monotonic_ns()}"
        child = subprocess.Popen([PROGRAM, "simulate", "--scenario", scenario, "-o", target], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        deadline = time.monotonic() + 30
        while not (target.exists() and any(target.iterdir())) and time.monotonic() < deadline:
            time.sleep(0.002)
        time.sleep(delay_s)
        self.assertIsNone(child.poll(), "the program ended before it could be interrupted")
        start = time.perf_counter()
        child.send_signal(number)
        _, err = child.communicate(timeout=20)
        seconds = time.perf_counter() - start
        self.assertEqual(b"", err)
        left = [p.name for p in target.iterdir()] if target.exists() else []
        shutil.rmtree(target, ignore_errors=True)
        return child.returncode, seconds, left

    def test_S5_interrupted(self):
        for number, status in ((signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)):
            seen = [self.interrupt(number, delay_s) for delay_s in (0, 0.01, 0.05, 0.1, 0.2)]
            self.assertEqual({status}, {s[0] for s in seen})
            self.assertEqual([], [name for s in seen for name in s[2]])
            if not SANITIZED:
                self.assertLess(sorted(s[1] for s in seen)[2], 0.1)  # the median, because the machine has other work too
        old = self.put("old.json", "old\n")
        fifo = self.folder / "fifo"
        os.mkfifo(fifo)
        child = subprocess.Popen([PROGRAM, "measure", fifo, "-o", old], stderr=subprocess.DEVNULL)
        await_readiness(child.pid)
        time.sleep(0.2)
        child.send_signal(signal.SIGINT)
        child.send_signal(signal.SIGINT)  # a second signal changes nothing
        self.assertEqual((130, "old\n"), (child.wait(timeout=10), old.read_text()))
        ignoring = subprocess.run(["sh", "-c", f'trap "" INT; "{PROGRAM}" measure "{self.capture}" & kill -INT $!; wait $!'], capture_output=True)
        self.assertEqual(0, ignoring.returncode)

    def test_S7_closed_descriptors(self):
        for closed in ("<&-", ">&-", "2>&-", "<&- >&-", "<&- 2>&-", ">&- 2>&-", "<&- >&- 2>&-"):
            with self.subTest(closed):
                target, lines = self.folder / "out.json", self.folder / "out.jsonl"
                line = f'exec "{PROGRAM}" measure --json "{self.capture}" "{self.folder}/none.wav" -o "{target}" --append "{lines}" {closed}'
                self.assertEqual(1, subprocess.run(["sh", "-c", line], capture_output=True).returncode)
                self.assertEqual(["evenwall/reading/1"] * 2, [json.loads(l)["schema"] for l in target.read_text().splitlines()])
                self.assertEqual(1, len(lines.read_text().splitlines()))
                target.unlink()
                lines.unlink()
        for words in ("measure --json", "measure"):
            run = subprocess.run(["sh", "-c", f'exec "{PROGRAM}" {words} "{self.capture}" >&-'], capture_output=True, text=True)
            self.assertEqual(1, run.returncode)
            self.assertRegex(run.stderr, r"\Aevenwall: standard output cannot be written: Bad file descriptor\. [^\n]+\n\Z")

    def test_S8_an_empty_environment_does_not_change_the_output(self):
        expected = evenwall("measure", "--json", self.capture).out
        bare = {key: None for key in os.environ}
        self.assertEqual(expected, evenwall("measure", "--json", self.capture, env=bare).out)
        self.assertEqual(expected, evenwall("measure", "--json", self.capture, env={"TZ": None, "LANG": None, "HOME": None, "PATH": None}).out)
        target = self.folder / "private.json"
        self.assertEqual(0, evenwall("measure", "--json", self.capture, "-o", target, before=lambda: os.umask(0o077)).status)
        self.assertEqual(0o600, target.stat().st_mode & 0o777)
        gone = self.folder / "gone"
        gone.mkdir()

        def from_nowhere():
            os.chdir(gone)
            os.rmdir(gone)
        run = evenwall("measure", "--json", self.capture, before=from_nowhere)
        self.assertEqual((0, expected), (run.status, run.out), run.err)

    def test_S9_simultaneous_writers_leave_one_whole_file(self):
        target = self.folder / "out.json"
        children = [subprocess.Popen([PROGRAM, "measure", "--json", capture, "-o", target]) for capture in self.captures * 3]
        self.assertEqual({0}, {child.wait() for child in children})
        self.assertIn(json.loads(target.read_text())["capture"], set(map(str, self.captures)))
        self.assertEqual([target], list(self.folder.iterdir()))

    def test_S10_the_output_is_the_same_without_threads(self):
        """The output has the same bytes with no thread at all, or with only the one that waits for signals. Interruption works without that one, too."""
        expected = evenwall("solve", "--json", self.session).out
        self.assertNotEqual("", expected)
        for when in ("1+", "2+", "3+"):
            run = evenwall("solve", "--json", "--jobs", 4, self.session, wrap=injected(f"clone3:error=EAGAIN:when={when}"))
            self.assertEqual((0, expected, ""), (run.status, run.out, run.err))
        fifo, old = self.folder / "stalls", self.put("old.json", "old\n")
        os.mkfifo(fifo)
        for number, status in ((signal.SIGINT, 130), (signal.SIGTERM, 143)):
            script = f'(sleep 1; kill -{number} $$) & exec "{PROGRAM}" measure "{fifo}" -o "{old}"'
            done = subprocess.run([*injected("clone3:error=EAGAIN:when=1+"), "sh", "-c", script], stderr=subprocess.DEVNULL, timeout=30)
            self.assertEqual((status, "old\n"), (done.returncode % 256, old.read_text()))
        self.assertEqual([], list(self.folder.glob(".*.tmp-*")))

    def test_S10_the_output_is_the_same_in_any_environment(self):
        """The output has the same bytes for every number of threads, locale, folder and environment."""
        german = pathlib.Path(self.folder / "locales")
        german.mkdir()
        subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", german / "de_DE.UTF-8"], capture_output=True)
        self.assertTrue((german / "de_DE.UTF-8" / "LC_NUMERIC").exists(), "localedef and the package locales are needed")
        comma = {"LOCPATH": str(german), "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"}
        shown = subprocess.run(["printf", "%.1f", "1,5"], env={**os.environ, **comma}, capture_output=True, text=True).stdout
        self.assertEqual("1,5", shown, "the locale must take effect")
        words = ["solve", "--json", self.session]
        expected = evenwall(*words, "--jobs", 1).out
        self.assertNotEqual("", expected)
        for name, run in {"jobs": evenwall(*words, "--jobs", 2), "many jobs": evenwall(*words, "--jobs", 64), "comma": evenwall(*words, env=comma),
                          "clock": evenwall(*words, env={"TZ": "Asia/Kathmandu"}), "again": evenwall(*words),
                          "there": evenwall("solve", "--json", self.session, cwd="/"), "bare": evenwall(*words, env={k: None for k in os.environ}),
                          "odd": evenwall(*words, env={"MALLOC_PERTURB_": "171", "OMP_NUM_THREADS": "7", "COLUMNS": "7", "TMPDIR": str(self.folder)})}.items():
            with self.subTest(name):
                self.assertEqual(expected, run.out)
        for view in ([], ["--csv"], ["--steps-csv"], ["--table"], ["--chart"]):
            self.assertEqual(evenwall("solve", self.session, *view).raw, evenwall("solve", self.session, *view, env=comma).raw)
        made = [self.folder / "made", self.folder / "made-in-german"]
        for folder, env in zip(made, (None, comma)):
            self.assertEqual(0, evenwall("simulate", "--scenario", self.shared / "scenario.json", "-o", folder, env=env).status)
        for path in made[0].iterdir():
            self.assertEqual(path.read_bytes(), (made[1] / path.name).read_bytes(), path.name)


if __name__ == "__main__":
    unittest.main()
