# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests --sha256 of measure and solve as a user runs it: in every view, from every kind of input, and in documents that are read back."""
import csv
import hashlib
import io
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import threading
import unittest

import jsonschema

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests/support"))
from simulated_session import short_demo, simulated  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
SCHEMAS = {name: jsonschema.Draft202012Validator(json.loads((ROOT / f"docs/{name}.schema.json").read_text())) for name in ("reading", "solution")}


def evenwall(*words, **more):
    run = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, timeout=120, **more)
    return run.returncode, run.stdout.decode(), run.stderr.decode()


def sum_by_sox(path):
    """The SHA-256 of the samples that sox gives, which is a decoder of its own."""
    raw = subprocess.run(["sox", path, "-t", "raw", "-e", "signed", "-b", "32", "-L", "-"], check=True, capture_output=True).stdout
    return hashlib.sha256(raw).hexdigest()


class Sha256(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        scenario = short_demo()
        scenario["steps"] = [{"tilt_deg": t} for t in (-1.5, 0, 1.5)]
        cls.session = simulated(PROGRAM, cls.folder / "session", scenario, 5)
        cls.captures = sorted(cls.session.glob("*.wav"))
        cls.sums = {p.name: sum_by_sox(p) for p in cls.captures}

    def copy(self):
        copy = pathlib.Path(tempfile.mkdtemp(dir=self.folder))
        return pathlib.Path(shutil.copytree(self.session, copy / "session"))

    def answer(self, *words, **more):
        """The document of a run without any message: not even that the confinement was refused."""
        status, out, err = evenwall(*words, "--json", **more)
        self.assertEqual((0, ""), (status, err))
        document = json.loads(out)
        kind = document["schema"].split("/")[1]
        self.assertEqual([], [e.message for e in SCHEMAS[kind].iter_errors(document)])
        return document

    def test_a_reading_has_the_sum_that_sox_gives_and_is_otherwise_the_same(self):
        for capture in self.captures:
            plain = evenwall("measure", "--json", capture)[1]
            hashed = self.answer("measure", "--sha256", capture)
            self.assertEqual(self.sums[capture.name], hashed["audio"].pop("sha256"))
            self.assertEqual(plain, json.dumps(hashed, separators=(",", ":"), ensure_ascii=False) + "\n")
        text = evenwall("measure", "--sha256", self.captures[0])[1]
        self.assertIn(f"SHA-256 of its frames:\n  {self.sums[self.captures[0].name]}\n", text)
        self.assertNotIn("SHA-256", evenwall("measure", self.captures[0])[1])

    def test_standard_input_and_pipes_have_the_sum_of_the_file(self):
        capture = self.captures[0]
        kept = self.folder / "kept.wav"
        for words in ([], ["--keep", kept], ["--name", "side A"]):
            with self.subTest(words):
                reading = self.answer("measure", "-", "--sha256", *words, input=capture.read_bytes())
                self.assertEqual(self.sums[capture.name], reading["audio"]["sha256"])
        self.assertEqual(capture.read_bytes(), kept.read_bytes())
        fifo = self.folder / "pipe.wav"
        os.mkfifo(fifo)
        writer = threading.Thread(target=lambda: fifo.write_bytes(capture.read_bytes()))
        writer.start()
        self.assertEqual(self.sums[capture.name], self.answer("measure", fifo, "--sha256")["audio"]["sha256"])
        writer.join()

    def test_a_solution_lists_the_sum_of_each_step_and_is_otherwise_the_same(self):
        plain = self.answer("solve", self.session)
        solution = self.answer("solve", self.session, "--sha256")
        self.assertEqual(self.sums, {s["capture"]: s.pop("audio_sha256") for s in solution["steps"]})
        self.assertEqual(plain, solution)

    def test_every_view_shows_the_sums_only_if_they_were_requested(self):
        full = evenwall("solve", self.session, "--sha256", "--full")[1]
        rows = list(csv.DictReader(io.StringIO(evenwall("solve", self.session, "--sha256", "--steps-csv")[1])))
        self.assertEqual(self.sums, {r["capture"]: r["audio_sha256"] for r in rows})
        self.assertEqual("audio_sha256", list(rows[0])[-1])
        document = self.folder / "solution.json"
        self.assertEqual(0, evenwall("solve", self.session, "--sha256", "--json", "-o", document)[0])
        page = evenwall("report", document)[1]
        for name, value in self.sums.items():
            self.assertRegex(full, rf"\n  {name} +{value[:12]}…\n")
            self.assertIn(f"{value[:12]}…", page)
        for view in ("--full", "--steps-csv", "--json"):
            self.assertNotRegex(evenwall("solve", self.session, view)[1], "(?i)sha-?256", view)

    def test_readings_keep_their_sums_through_solve_and_those_without_are_counted(self):
        readings = self.folder / "readings.jsonl"
        readings.write_text("".join(evenwall("measure", "--json", "--sha256", "--tilt-deg", t, p)[1]
                                    for t, p in zip(("-1.5", "0", "1.5"), self.captures)))
        solution = self.answer("solve", readings)
        self.assertEqual(set(self.sums.values()), {s["audio_sha256"] for s in solution["steps"]})
        lines = [json.loads(line) for line in readings.read_text().splitlines()]
        del lines[1]["audio"]["sha256"]
        readings.write_text("".join(json.dumps(line) + "\n" for line in lines))
        status, out, err = evenwall("solve", readings, "--sha256", "--json", "--strict")
        self.assertEqual(0, status, err)
        self.assertEqual(f"evenwall: {readings}: 1 of 3 steps have no SHA-256, because their recordings are not read here. "
                         "These steps are solved without it. Measure the recordings with measure --sha256.\n", err)
        self.assertEqual([True, False, True], ["audio_sha256" in s for s in json.loads(out)["steps"]])
        lines[0]["audio"]["sha256"] = lines[0]["audio"]["sha256"].upper()
        readings.write_text("".join(json.dumps(line) + "\n" for line in lines))
        status, out, err = evenwall("solve", readings, "--json")
        self.assertEqual((1, ""), (status, out))
        self.assertRegex(err, r"\Aevenwall: [^\n]*readings\.jsonl:1: key /audio/sha256 is not a SHA-256 [^\n]*\n\Z")

    def test_steps_that_are_stretches_of_one_recording_have_the_sum_of_the_whole(self):
        session = self.copy()
        whole = session / "whole.wav"
        subprocess.run(["sox", *self.captures, whole], check=True)
        length_s = float(subprocess.run(["soxi", "-D", self.captures[0]], check=True, capture_output=True, text=True).stdout)
        rows = "".join(f"whole.wav,{t},{i * length_s:.3f},{(i + 1) * length_s:.3f}\n" for i, t in enumerate((-1.5, 0, 1.5)))
        (session / "steps.csv").write_text("capture,tilt_deg,from_s,to_s\n" + rows)
        solution = self.answer("solve", session, "--sha256")
        self.assertEqual([sum_by_sox(whole)] * 3, [s["audio_sha256"] for s in solution["steps"]])
        self.assertEqual(1, evenwall("solve", session, "--sha256", "--full")[1].count("…\n"))

    def test_a_step_of_two_recordings_has_both_sums(self):
        session = self.copy()
        capture = session / self.captures[1].name
        left, right = session / "left.wav", session / "right.wav"
        subprocess.run(["sox", capture, left, "trim", "0", "4.5"], check=True)
        subprocess.run(["sox", capture, right, "trim", "4.5", "4.3"], check=True)
        log = session / "steps.csv"
        row = next(line for line in log.read_text().splitlines() if line.startswith(capture.name))
        log.write_text(log.read_text().replace(row, f"{row.replace(capture.name, left.name)}\n{row.replace(capture.name, right.name)}"))
        status, out, _ = evenwall("solve", session, "--sha256", "--json", "--quiet")
        self.assertEqual(0, status)
        sums = {s["capture"]: s["audio_sha256"] for s in json.loads(out)["steps"]}
        self.assertEqual(f"{sum_by_sox(left)} + {sum_by_sox(right)}", sums["left.wav + right.wav"])
        self.assertEqual([], [e.message for e in SCHEMAS["solution"].iter_errors(json.loads(out))])

    def test_a_reading_that_the_file_holds_without_a_sum_is_not_added_again_and_the_message_states_so(self):
        target = self.folder / "bench.jsonl"
        self.assertEqual(0, evenwall("measure", self.captures[0], "--append", target, "--quiet")[0])
        before = target.read_text()
        status, _, err = evenwall("measure", self.captures[0], "--append", target, "--sha256")
        self.assertEqual(0, status)
        self.assertEqual(before, target.read_text())
        self.assertTrue(err.endswith("It was not added again. The reading there has no SHA-256. To keep it, add the reading to another file.\n"), err)

    def test_rows_of_a_log_and_a_sum_exclude_each_other(self):
        status, out, err = evenwall("measure", self.captures[0], "--split", "--sha256")
        self.assertEqual((2, ""), (status, out))
        self.assertRegex(err, r"\Aevenwall: [^\n]*--split[^\n]*\n\Z")


if __name__ == "__main__":
    unittest.main()
