# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests how a run ends: refusals and signals leave no files behind, streams may be set not to wait, and gnuplot may not end."""
import json
import os
import pathlib
import random
import shutil
import signal
import subprocess
import threading
import time
import unittest

from bench import OLD, PROGRAM, SANITIZED, WITHOUT_LEAK_SEARCH, FaultCase, await_readiness, evenwall, injected


class NothingEmpty(FaultCase):
    """Tests that a refusal leaves neither an empty file nor a folder."""

    def simulate(self, target, **more):
        return evenwall("simulate", "--scenario", self.shared / "scenario.json", "-o", target, **more)

    def test_D1_a_failed_simulate_leaves_no_file(self):
        self.put("broken.json", '{"steps": [')
        run = evenwall("simulate", "--scenario", self.folder / "broken.json", "-o", self.folder / "made", watch=self.folder)
        self.assertRefused(run, "broken.json")
        for call, error in (("write", "ENOSPC"), ("fsync", "EIO"), ("rename", "EACCES"), ("renameat2", "EACCES"), ("linkat", "EIO"), ("mkdir", "ENOSPC")):
            if SANITIZED and call == "write":
                continue  # the sanitizers test memory by writing it to a pipe, and they end the program if that fails
            met = False
            for when in (1, 2, 3, 4, 5, 6, 7):
                with self.subTest(call, when=when):
                    run = self.simulate(self.folder / "a" / "made", wrap=injected(f"{call}:error={error}:when={when}"), watch=self.folder)
                    if run.status == 0:  # the fault was not met, because there were fewer calls, or the program found another way
                        shutil.rmtree(self.folder / "a", ignore_errors=True)
                        continue
                    met = True
                    self.assertEqual((1, []), (run.status, run.changed), run.err)
            self.assertTrue(met or call == "rename", call)
        (self.folder / "there").mkdir()
        mine = self.put("there/mine.txt", "mine")
        run = self.simulate(self.folder / "there", wrap=injected("fsync:error=EIO:when=7"))
        self.assertEqual((1, [mine], "mine"), (run.status, list((self.folder / "there").iterdir()), mine.read_text()), run.err)

    def test_D1_a_failed_append_leaves_no_empty_file(self):
        new = self.folder / "new.jsonl"
        for fault in (*([] if SANITIZED else ["write:error=ENOSPC:when=1+"]), "fsync:error=EIO:when=1+", "flock:error=ENOLCK:when=1+", "linkat:error=EIO:when=1+"):
            with self.subTest(fault):
                run = evenwall("measure", "--quiet", self.capture, "--append", new, "--json", stdout=subprocess.DEVNULL, wrap=injected(fault, first_process_only=True))
                self.assertTrue(run.status == 0 and json.loads(new.read_text()) or run.status == 1 and not new.exists(), run.err)
                new.unlink(missing_ok=True)
        self.assertEqual(1, evenwall("measure", self.put("bad.wav", b"RIFF"), "--append", new).status)
        self.assertEqual(["bad.wav"], os.listdir(self.folder))

    def test_D1_files_are_made_if_no_rename_without_replacing_exists(self):
        """On a file system with neither RENAME_NOREPLACE nor hard links, files are still made, and no file is replaced."""
        poor = injected("renameat2:error=EINVAL", "link:error=EPERM")
        self.assertEqual(0, self.simulate(self.folder / "made", wrap=poor).status)
        self.assertEqual(1, self.simulate(self.folder / "made", wrap=poor).status)
        lines = self.folder / "new.jsonl"
        for tilt, count in (("1", 1), ("2", 2)):
            self.assertEqual(0, evenwall("measure", self.capture, "--tilt-deg", tilt, "--append", lines, wrap=poor).status)
            self.assertEqual(count, len(lines.read_text().splitlines()))
        self.assertEqual({"made", "new.jsonl"}, set(os.listdir(self.folder)))

    def test_S5_a_second_signal_prints_nothing(self):
        """It comes some milliseconds after the first, as when Ctrl-C is pressed twice: nothing is printed, whichever of the two processes gets it."""
        draw, ended = random.Random(20261129), 0
        for _ in range(40):
            child = subprocess.Popen([PROGRAM, "measure", *self.captures * 10, "-o", self.folder / "out.txt"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True)
            time.sleep(draw.uniform(0, 1.0 if SANITIZED else 0.12))
            child.send_signal(draw.choice((signal.SIGINT, signal.SIGTERM, signal.SIGHUP)))
            time.sleep(draw.choice((0.0005, 0.002, 0.005)))
            child.send_signal(signal.SIGINT)
            said = b"".join(child.communicate(timeout=20))
            # Before the program's first instruction there is no handler, so the signal itself ends the process.
            self.assertIn(child.returncode, (0, 129, 130, 143, -signal.SIGINT, -signal.SIGTERM, -signal.SIGHUP))
            if child.returncode > 0:
                ended += 1
                self.assertEqual(b"", said)
        self.assertGreater(ended, 0)

    def test_S5_an_interrupted_simulate_leaves_no_file(self):
        """At any moment, also before main and while the folder is made, a signal leaves no file, and nothing is printed."""
        scenario = {**json.loads((self.shared / "scenario.json").read_text()), "steps": [{"tilt_deg": t / 10} for t in range(-20, 20)]}
        self.put("many.json", json.dumps(scenario))
        for number, status in ((signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)):
            for delay_s in (0, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2):
                with self.subTest(number, delay_s=delay_s):
                    child = subprocess.Popen([PROGRAM, "simulate", "--scenario", self.folder / "many.json", "-o", self.folder / "a" / "made"], stderr=subprocess.PIPE)
                    time.sleep(delay_s)
                    child.send_signal(number)
                    err = child.communicate(timeout=20)[1]
                    self.assertIn(child.returncode, (status, -number))  # the shell shows both as 128 + number
                    self.assertEqual((b"", ["many.json"]), (err, os.listdir(self.folder)))


class Signals(FaultCase):
    """Tests signals before the program waits for them, and a terminal that is closed."""

    def test_S5_a_signal_before_the_wait_for_signals_ends_the_program(self):
        """The signal comes in the first calls of main, or after fork but before the program waits for signals."""
        for call in ("fcntl", "socketpair", "clone", "prctl"):
            for number, status in ((signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)):
                with self.subTest(call, number=number):
                    self.put("out.json", OLD)
                    traced = ["strace", *WITHOUT_LEAK_SEARCH, "-qq", "-f", "-o", "/dev/null", "-e", f"trace={call}", "-e", f"inject={call}:signal={number.name}:when=1"]
                    run = subprocess.run([*traced, PROGRAM, "measure", self.capture, "-o", self.folder / "out.json"], capture_output=True)
                    self.assertEqual((status, b"", b""), (run.returncode, run.stdout, run.stderr))
                    self.assertEqual((["out.json"], OLD), (os.listdir(self.folder), (self.folder / "out.json").read_text()))

    def test_S5_a_closed_terminal_ends_the_program(self):
        old, fifo = self.put("old.json", OLD), self.folder / "stalls"
        os.mkfifo(fifo)
        for words in (["measure", fifo, "-o", old], ["measure", fifo]):
            child = subprocess.Popen([PROGRAM, *map(str, words)], stderr=subprocess.PIPE)
            await_readiness(child.pid)
            child.send_signal(signal.SIGHUP)
            self.assertEqual((b"", 129, OLD), (child.communicate(timeout=10)[1], child.returncode, old.read_text()))
        ignoring = subprocess.run(["sh", "-c", f'trap "" HUP; "{PROGRAM}" measure "{self.capture}" & kill -HUP $!; wait $!'], capture_output=True)
        self.assertEqual(0, ignoring.returncode)


class NotWaiting(FaultCase):
    """Tests standard output and input that another program has set not to wait."""

    def test_S4_a_nonblocking_output_is_written_whole(self):
        many = [self.capture] * 60
        expected = evenwall("measure", "--json", *many).raw
        self.assertGreater(len(expected), 65536 + 4096, "the output must be larger than a pipe holds")
        for words in (["measure", "--json", *many], ["measure", "--json", *many, "-o", "/dev/stdout"]):
            reader, writer = os.pipe()
            os.set_blocking(writer, False)
            taken = []
            child = subprocess.Popen([PROGRAM, *map(str, words)], stdout=writer, stderr=subprocess.PIPE)
            os.close(writer)

            def slowly():
                time.sleep(1)
                while block := os.read(reader, 5000):
                    taken.append(block)
                    time.sleep(0.005)
            thread = threading.Thread(target=slowly)
            thread.start()
            err = child.communicate(timeout=60)[1]
            thread.join(timeout=60)
            os.close(reader)
            self.assertEqual((0, b"", expected), (child.returncode, err, b"".join(taken)))

    def test_F25_a_nonblocking_input_is_read_whole(self):
        reader, writer = os.pipe()
        os.set_blocking(reader, False)
        child = subprocess.Popen([PROGRAM, "measure", "--json", "-"], stdin=reader, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        os.close(reader)
        time.sleep(0.5)
        with open(writer, "wb") as to:
            to.write(self.good)
        out, err = child.communicate(timeout=30)
        self.assertEqual((0, b""), (child.returncode, err))
        self.assertEqual(evenwall("measure", "--json", self.capture).json()["crosstalk"], json.loads(out)["crosstalk"])


class FakeGnuplot(FaultCase):
    """Tests a gnuplot that hangs, ignores signals, never stops writing, or continues to run after its answer."""

    LIMIT_S = 20
    FAKES = {"sleeps": "sleep 1000", "ignores TERM": "trap '' TERM INT HUP; sleep 1000 & wait; sleep 1000", "floods": "exec yes '<svg>'",
             "dribbles": "while :; do echo '<svg>'; sleep 0.1; done", "outlives its answer": "exec >&- 0<&- ; sleep 1000"}

    def test_S5_no_page_waits_for_a_faulty_gnuplot(self):
        solution = self.put("s.json", evenwall("solve", "--json", self.session).out)
        started, children = time.perf_counter(), {}
        for name, script in self.FAKES.items():
            place = self.folder / name
            place.mkdir()
            (place / "gnuplot").write_text(f"#!/bin/sh\n{script}\n")
            os.chmod(place / "gnuplot", 0o755)
            children[name] = subprocess.Popen([PROGRAM, "report", solution, "-o", place / "page.html"], stderr=subprocess.PIPE, text=True,
                                              env={**os.environ, "PATH": f"{place}:/usr/bin:/bin"})
        for name, child in children.items():
            with self.subTest(name):
                err = child.communicate(timeout=90)[1]
                seconds = time.perf_counter() - started
                self.assertEqual(0, child.returncode, err)
                self.assertRegex(err, r"\Aevenwall: charts are missing from the page, [^\n]+\n\Z")
                self.assertIn('id="no-charts"', (self.folder / name / "page.html").read_text())
                if not SANITIZED:
                    self.assertLess(seconds, self.LIMIT_S + 10, "the limit must apply to the whole page")
        self.assertEqual([], self.alive(), "processes that the program started must have ended too")

    def alive(self):
        found = []
        for process in pathlib.Path("/proc").glob("[0-9]*"):
            try:
                if str(self.folder).encode() in (process / "environ").read_bytes():
                    found.append((process / "cmdline").read_bytes())
            except OSError:
                continue
        return found

    def solution_and_gnuplot(self, script):
        """Writes a solution and a program named gnuplot. Returns the solution's path and the folder of the program."""
        place = self.folder / "bin"
        place.mkdir()
        (place / "gnuplot").write_text(script)
        os.chmod(place / "gnuplot", 0o755)
        return self.put("s.json", evenwall("solve", "--json", self.session).out), place

    def test_S5_an_interruption_ends_a_drawing_gnuplot(self):
        solution, place = self.solution_and_gnuplot(f'#!/bin/sh\ntouch "{self.folder}/drawing"\nsleep 1000\n')
        child = subprocess.Popen([PROGRAM, "report", solution, "-o", self.folder / "page.html"], stderr=subprocess.PIPE, env={"PATH": f"{place}:/usr/bin:/bin"})
        deadline = time.monotonic() + 30
        while not (self.folder / "drawing").exists() and time.monotonic() < deadline:
            time.sleep(0.01)
        child.send_signal(signal.SIGTERM)
        self.assertEqual((b"", 143), (child.communicate(timeout=10)[1], child.returncode))
        self.assertFalse((self.folder / "page.html").exists())
        time.sleep(0.2)
        self.assertEqual([], self.alive())

    def test_S5_an_interruption_ends_a_starting_gnuplot(self):
        """A gnuplot that has started before its process id is known ends too: the program is stopped at each point of the start."""
        solution, place = self.solution_and_gnuplot("#!/bin/sh\nsleep 1000\n")
        for delayed_ms in (0, 20, 60):
            # strace holds the program for that long after the call that starts gnuplot; the signal arrives meanwhile.
            trace = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", "trace=clone,clone3,vfork", "-e", f"inject=clone,clone3,vfork:delay_exit={1000 * delayed_ms}"]
            child = subprocess.Popen([*trace, *WITHOUT_LEAK_SEARCH, PROGRAM, "report", solution, "-o", self.folder / "page.html"], stderr=subprocess.DEVNULL,
                                     env={"PATH": f"{place}:/usr/bin:/bin"})
            deadline = time.monotonic() + 30
            while not any(b"gnuplot" in line for line in self.alive()) and time.monotonic() < deadline:
                time.sleep(0.002)
            programs = [p for p in pathlib.Path("/proc").glob("[0-9]*") if self.runs(p, PROGRAM)]
            self.assertNotEqual([], programs)
            for process in programs:
                os.kill(int(process.name), signal.SIGTERM)
            child.wait(timeout=30)
            time.sleep(0.2)
            with self.subTest(delayed_ms=delayed_ms):
                self.assertEqual([], [line for line in self.alive() if b"gnuplot" in line or b"sleep" in line])

    def test_S5_an_interruption_reports_no_missing_chart(self):
        """gnuplot has ended by the signal, and the program not yet: strace delays its last call by 0.3 s."""
        solution, place = self.solution_and_gnuplot(f'#!/bin/sh\ntouch "{self.folder}/drawing"\nsleep 1000\n')
        trace = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", "trace=exit_group", "-e", "inject=exit_group:delay_enter=300000"]
        child = subprocess.Popen([*trace, *WITHOUT_LEAK_SEARCH, PROGRAM, "report", solution, "-o", self.folder / "page.html"], stderr=subprocess.PIPE,
                                 env={"PATH": f"{place}:/usr/bin:/bin"})
        deadline = time.monotonic() + 30
        while not (self.folder / "drawing").exists() and time.monotonic() < deadline:
            time.sleep(0.01)
        programs = [p for p in pathlib.Path("/proc").glob("[0-9]*") if self.runs(p, PROGRAM)]
        self.assertEqual(1, len(programs))
        os.kill(int(programs[0].name), signal.SIGTERM)
        lines = child.communicate(timeout=30)[1].splitlines()
        self.assertEqual(([], 143), ([line for line in lines if not line.startswith(b"strace:")], child.returncode))
        self.assertFalse((self.folder / "page.html").exists())

    def runs(self, process, program):
        try:
            return str(self.folder).encode() in (process / "environ").read_bytes() and (process / "exe").resolve() == pathlib.Path(program).resolve()
        except OSError:
            return False


if __name__ == "__main__":
    unittest.main()
