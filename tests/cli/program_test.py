# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests the real program as a user runs it: exit status, standard output, standard error."""
import cmath
import csv
import io
import json
import math
import os
import pathlib
import re
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import time
import unittest

import jsonschema

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from recommended_truth import recommended_truth  # noqa: E402
from simulated_session import short_demo, simulated  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
DOCS = pathlib.Path(__file__).resolve().parents[2] / "docs"
SANITIZED = "EVENWALL_SANITIZED" in os.environ

SCENARIO = {
    "schema": "evenwall/scenario/1", "name": "bench", "sample_rate_hz": 48000, "bits": 24,
    "record": {"bands": [{"band": None, "duration_s": 0.5}, {"band": "left", "duration_s": 3.8}, {"band": None, "duration_s": 0.5},
                         {"band": "right", "duration_s": 3.8}, {"band": None, "duration_s": 0.5},
                         {"band": "lateral", "duration_s": 2.0}, {"band": None, "duration_s": 0.5}]},
    "cartridge": {"generator_error_left_deg": -1.0, "generator_error_right_deg": -0.6,
                  "coupling_right_into_left": {"re": 0.005, "im": 0.001}, "coupling_left_into_right": {"re": 0.004, "im": 0.001}},
    "noise": {"surface_noise_db": -55},
    "steps": [{"tilt_deg": -1.5}, {"tilt_deg": 0}, {"tilt_deg": 1}, {"tilt_deg": 2}],
    "gauge_error_u_deg": 0.01,
    "session": {"cartridge": "Larkspur", "record": "Even Furrow", "bands": ["left", "right", "lateral"], "gauge_u_deg": 0.01},
}


def evenwall(*words, stdin=b"", env=None, stdout=subprocess.PIPE, cwd=None):
    run = subprocess.run([PROGRAM, *map(str, words)], input=stdin, stdout=stdout, stderr=subprocess.PIPE, timeout=120, cwd=cwd,
                         env={**os.environ, **(env or {})})
    return run.returncode, (run.stdout or b"").decode(), run.stderr.decode()


class Program(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        cls.session = simulated(PROGRAM, cls.folder / "session", SCENARIO, 3)
        cls.captures = sorted(p for p in cls.session.iterdir() if p.suffix == ".wav")
        cls.truth = json.loads((cls.session / "truth.json").read_text())

    def refused(self, status, words, pattern, **more):
        """Checks for one line on standard error and nothing on standard output."""
        got, out, err = evenwall(*words, **more)
        self.assertEqual((status, ""), (got, out), err)
        self.assertRegex(err, r"\Aevenwall: [^\n]*\n\Z")
        self.assertRegex(err, pattern)

    # ------------------------------------------------------------ usage

    def test_wrong_usage_gives_exit_status_2(self):
        for words in (["conjure"], ["measure"], ["solve"], ["measure", "--no-such"], ["measure", "a.wav", "--tilt-deg"],
                      ["measure", "a.wav", "--tilt-deg", "nan"], ["measure", "a.wav", "--tilt-deg", "1,5"], ["solve", "x", "--jobs", "-1"],
                      ["measure", "a.wav", "--tilt-deg", "1", "--tilt-units", "1"], ["measure", "a.wav", "--use", "maybe"],
                      ["solve", "x", "--json", "--csv"], ["solve", "x", "--full", "--table"], ["solve", "x", "--steps-csv", "--csv"],
                      ["solve", "x", "--json", "--steps-csv"], ["simulate", "--seed", "1"], ["measure", "-", "-"],
                      ["measure", "a.wav", "--tilt-u", "0.1"], ["report"], ["survey"], ["calibrate"], ["calibrate", "-", "-"],
                      ["measure", "a.wav", "--calibration", "e.json"], ["solve", "x", "--calibration"]):
            with self.subTest(words):
                self.refused(2, words, "--help")

    def test_help_and_version_are_printed(self):
        for words in ([], ["--help"], ["measure", "--help"], ["solve", "--help"], ["calibrate", "--help"], ["simulate", "--help"]):
            status, out, err = evenwall(*words)
            self.assertEqual((0, ""), (status, err))
            self.assertIn("evenwall", out.lower() if not words else out + "evenwall")
        for command in ("measure", "solve", "report", "calibrate", "simulate", "survey"):
            self.assertIn(command, evenwall("--help")[1])
        self.assertRegex(evenwall("--version")[1], r"\Aevenwall \d+\.\d+\.\d+\n\Z")

    @unittest.skipIf(SANITIZED, "sanitizers start slowly")
    def test_version_is_quick(self):
        def seconds():
            start = time.perf_counter()
            evenwall("--version")
            return time.perf_counter() - start
        # Starting a process from here costs some milliseconds by itself; a program that did work first would cost far more.
        self.assertLess(min(seconds() for _ in range(10)), 0.05)

    # ------------------------------------------------------------ measure

    def test_unreadable_captures_are_named(self):
        self.refused(1, ["measure", self.folder / "absent.wav"], "absent.wav")
        self.refused(1, ["measure", self.folder], re.escape(self.folder.name))
        self.refused(1, ["measure", self.folder / "session-scenario.json"], "session-scenario.json")

    def test_names_cannot_act_on_the_terminal(self):
        status, out, err = evenwall("measure", "bad\x1b[31m\nname.wav")
        self.assertEqual(1, status)
        self.assertNotIn("\x1b", err)
        self.assertEqual(1, err.count("\n"))

    def test_a_bad_capture_does_not_affect_the_others(self):
        bad = self.folder / "bad.wav"
        bad.write_bytes(b"no audio at all")
        status, out, err = evenwall("measure", "--json", self.captures[0], bad, self.captures[1])
        lines = [json.loads(line) for line in out.splitlines()]
        self.assertEqual(1, status)
        self.assertEqual([str(self.captures[0]), str(bad), str(self.captures[1])], [line["capture"] for line in lines])
        self.assertEqual({"schema", "capture", "error"}, set(lines[1]))
        self.assertIn("bad.wav", err)

    def test_measuring_from_standard_input_gives_the_same_crosstalk(self):
        by_name = json.loads(evenwall("measure", "--json", self.captures[0])[1])
        by_pipe = json.loads(evenwall("measure", "--json", "-", stdin=self.captures[0].read_bytes())[1])
        self.assertEqual(by_name["crosstalk"], by_pipe["crosstalk"])
        self.assertEqual("-", by_pipe["capture"])

    def test_rejected_signals_are_listed_on_standard_error_and_do_not_change_the_document(self):
        plain = evenwall("measure", "--json", self.captures[0])
        told = evenwall("measure", "--json", "--rejected", self.captures[0])
        self.assertEqual(plain[:2], told[:2])
        self.assertEqual("", plain[2])
        self.assertRegex(told[2], r"\ATone-like signals rejected in .*\.wav\n")
        # Rejected signals are also listed for a capture that gives no reading.
        note = self.folder / "note.wav"
        subprocess.run(["sox", "-R", "-D", "-n", "-r", "48000", "-b", "24", note, "synth", "3", "sine", "740", "fade", "l", "0", "3", "3", "remix", "1", "1v0.01"],
                       check=True)
        status, out, err = evenwall("measure", "--rejected", note)
        self.assertEqual((1, ""), (status, out))
        self.assertRegex(err, r"740\.0 Hz, left only: its level changes")

    def test_the_number_of_jobs_does_not_change_a_byte(self):
        one = evenwall("measure", "--json", "--jobs", 1, *self.captures)
        self.assertEqual(0, one[0], one[2])
        self.assertEqual(one, evenwall("measure", "--json", "--jobs", 3, *self.captures))
        self.assertEqual(evenwall("solve", "--json", "--jobs", 1, self.session), evenwall("solve", "--json", "--jobs", 4, self.session))

    def test_an_output_file_is_written_whole(self):
        target = self.folder / "reading.json"
        status, out, err = evenwall("measure", "--json", self.captures[0], "-o", target)
        self.assertEqual((0, ""), (status, out))
        self.assertEqual(evenwall("measure", "--json", self.captures[0])[1], target.read_text())
        self.assertEqual([], list(self.folder.glob(".*tmp*")))

    def test_the_name_of_an_output_chooses_its_kind(self):
        kinds = {("solve", self.session): {"json": ["--json"], "csv": ["--csv"], "txt": []}, ("measure", self.captures[0]): {"json": ["--json"], "jsonl": ["--json"], "txt": []}}
        for words, by_ending in kinds.items():
            for ending, flags in by_ending.items():
                with self.subTest(words, ending=ending):
                    target = self.folder / f"named.{ending}"
                    target.unlink(missing_ok=True)
                    self.assertEqual((0, ""), evenwall(*words, "-o", target)[:2])
                    self.assertEqual(evenwall(*words, *flags)[1], target.read_text())
        full = self.folder / "full.json"
        self.assertEqual(0, evenwall("solve", self.session, "--full", "-o", full)[0])
        self.assertEqual(evenwall("solve", self.session, "--full")[1], full.read_text())
        # Without the flag, readings are not replaced: the user may have meant --append.
        readings = self.folder / "named.jsonl"
        before = readings.read_text()
        self.refused(1, ["measure", self.captures[1], "-o", readings], "which the output would replace")
        self.assertEqual(before, readings.read_text())

    def test_an_input_is_never_overwritten(self):
        before = self.captures[0].read_bytes()
        self.refused(1, ["measure", self.captures[0], "-o", self.captures[0]], "input")
        self.assertEqual(before, self.captures[0].read_bytes())

    def test_a_warning_fails_the_run_under_strict(self):
        facts = self.folder / "odd.json"
        facts.write_text('{"cartridge": "Larkspur", "moon_phase": "full"}')
        words = ["measure", "--json", self.captures[0], "--session", facts]
        status, out, err = evenwall(*words)
        self.assertEqual(0, status, err)
        self.assertIn("unknown_key", err)
        target = self.folder / "strict.json"
        status, out, err = evenwall(*words, "--strict", "-o", target)
        self.assertEqual(1, status)
        self.assertIn("--strict", err)
        self.assertFalse(target.exists())

    def test_quiet_suppresses_warnings_but_not_errors(self):
        facts = self.folder / "odd2.json"
        facts.write_text('{"moon_phase": "full"}')
        self.assertEqual("", evenwall("measure", "--quiet", "--json", self.captures[0], "--session", facts)[2])
        self.assertNotEqual("", evenwall("measure", "--quiet", self.folder / "absent.wav")[2])

    # ------------------------------------------------------------ solve

    def answer(self, out):
        return json.loads(out)["least_crosstalk"]

    def test_the_solution_of_a_folder_is_near_the_true_value(self):
        status, out, err = evenwall("solve", "--json", self.session)
        self.assertEqual(0, status, err)
        answer = self.answer(out)
        # The gauge is set within 0.01° and four steps share it, so 0.05° is five standard deviations and more.
        self.assertAlmostEqual(self.truth_least(), answer["tilt_deg"], delta=0.05)

    def truth_least(self):
        return self.truth["least_crosstalk_deg"]

    def readings(self):
        lines = []
        for row in (self.session / "steps.csv").read_text().splitlines()[1:]:
            capture, tilt = row.split(",")[:2]
            status, out, err = evenwall("measure", "--json", capture, "--tilt-deg", tilt, "--session", "session.json", cwd=self.session)
            self.assertEqual(0, status, err)
            lines.append(out)
        return "".join(lines)

    def test_readings_from_a_pipe_give_the_same_answer_as_the_folder(self):
        status, out, err = evenwall("solve", "--json", "-", stdin=self.readings().encode())
        self.assertEqual(0, status, err)
        by_pipe, by_folder = json.loads(out), json.loads(evenwall("solve", "--json", self.session)[1])
        self.assertEqual(["-", str(self.session)], [by_pipe.pop("source"), by_folder.pop("source")])
        self.assertEqual(by_folder, by_pipe)

    def test_documents_of_the_program_fit_their_schemas(self):
        def check(name, text):
            schema = json.loads((DOCS / f"{name}.schema.json").read_text())
            lines = text.splitlines()
            self.assertTrue(lines)
            for line in lines:
                document = json.loads(line, parse_constant=lambda word: self.fail(f"{word} in {name}"))
                jsonschema.Draft202012Validator(schema).validate(document)
                with self.assertRaises(jsonschema.ValidationError):
                    jsonschema.Draft202012Validator(schema).validate({**document, "surprise": 1})

        broken = self.folder / "no.wav"
        broken.write_bytes(b"")
        check("reading", evenwall("measure", "--json", *self.captures, broken)[1])
        check("truth", (self.session / "truth.json").read_text())
        log = (self.session / "steps.csv").read_text().splitlines()
        for name, rows in {"one": log[:2], "two": log[:3], "all": log, "uses": [log[0], log[1].replace(",yes", ",as_found"), log[2], log[3], log[4].replace(",yes", ",verify")]}.items():
            copy = self.broken_copy("schema-" + name)
            (copy / "steps.csv").write_text("\n".join(rows) + "\n")
            status, out, err = evenwall("solve", "--json", copy)
            self.assertEqual(0, status, err)
            check("solution", out)
            if name == "uses":
                self.assertIsNotNone(json.loads(out)["as_found"])
                self.assertEqual(1, len(json.loads(out)["verification"]))

    def test_append_adds_readings_to_a_session_at_the_bench(self):
        log = self.folder / "bench.jsonl"
        for capture, tilt in zip(self.captures[:2], ("-1.5", "0")):
            self.assertEqual(0, evenwall("measure", capture, "--tilt-deg", tilt, "--append", log)[0])
        self.assertEqual([-1.5, 0], [json.loads(line)["tilt_deg"] for line in log.read_text().splitlines()])
        self.assertEqual(0, evenwall("solve", log)[0])

    def test_solve_gives_a_text_a_chart_and_a_csv_table(self):
        for flags in ([], ["--full"]):
            status, out, err = evenwall("solve", self.session, *flags)
            self.assertEqual(0, status, err)
            self.assertTrue(out.startswith("For this record, set the azimuth to "), out[:90])
            self.assertLessEqual(max(map(len, out.splitlines())), 80)
            self.assertNotIn("\x1b", out)
        for heading in ("What to do", "Uncertainty budget", "Take care"):
            self.assertIn(f"\n{heading}\n", out)
        chart = evenwall("solve", "--chart", self.session)[1]
        self.assertTrue(chart.startswith(out))
        self.assertIn("Crosstalk in dB against azimuth", chart)
        rows = evenwall("solve", "--steps-csv", self.session)[1].splitlines()
        self.assertEqual(5, len(rows))
        self.assertTrue(rows[0].startswith("capture,tilt_deg"))
        self.assertEqual([c.name for c in self.captures], [row.split(",")[0] for row in rows[1:]])

    def test_the_brief_view_is_a_screen_at_most(self):
        demo = self.folder / "demo"
        if not demo.exists():
            simulated(PROGRAM, demo, short_demo(), 7)
        status, out, err = evenwall("solve", demo)
        self.assertEqual((0, ""), (status, err))
        lines = out.splitlines()
        self.assertTrue(out.endswith("\n"))
        self.assertLessEqual(len(lines), 24)
        self.assertLessEqual(max(map(len, lines)), 80)
        for begin in ("For this record, set the azimuth to ", "  Turn from step-05.wav: anticlockwise by ", "  Shim for this turn: ",
                      "  now (step-05.wav) ", "  expected at ", "  Verdict (turn): "):
            self.assertEqual(1, sum(line.startswith(begin) for line in lines), begin)
        self.assertIn("Turn the volume down", lines[-2])
        self.assertIn("--full", lines[-1])
        # Many warnings and flagged steps do not make it longer.
        copy = self.broken_copy("many-warnings")
        log = (copy / "steps.csv").read_text().replace("step-03.wav,1,", "step-03.wav,3,")
        (copy / "steps.csv").write_text(log + "".join(f"gone-{i}.wav,{0.1 * i:.1f},yes\n" for i in range(40)))
        status, out, err = evenwall("solve", "--quiet", copy)
        self.assertEqual(0, status, err)
        self.assertLessEqual(len(out.splitlines()), 24)
        self.assertLessEqual(max(map(len, out.splitlines())), 80)
        self.assertRegex(out, r"\n- \d+ more warnings\. --full shows all\.\n")

    def two_sessions(self):
        shelf = self.folder / "shelf"
        if not shelf.exists():
            for name, cartridge in (("b-second", "Larkspur"), ("a-first", "=Linnet, no. 2")):
                shutil.copytree(self.session, shelf / name)
                (shelf / name / "session.json").write_text(json.dumps({**SCENARIO["session"], "cartridge": cartridge, "rpm": 33.3}))
        return [shelf / "a-first", shelf / "b-second"]

    SESSIONS_HEAD = "source,cartridge,set_to_deg,u_deg,set_to_units,u_units,turn_deg,u_turn_deg,turn_units,shim_mm,shim_at,verdict,warnings"

    def check_table(self, inputs, names):
        """Checks the table and the CSV of two sessions: one line for each, in order, with the numbers of the document."""
        status, table, err = evenwall("solve", "--table", *inputs, cwd=self.folder / "shelf")
        self.assertEqual((0, ""), (status, err))
        head, *lines = table.splitlines()
        self.assertLessEqual(max(map(len, table.splitlines())), 80)
        self.assertEqual(["session", "cartridge", "set", "to", "u", "turn", "shim", "mm", "verdict", "warn."], head.split())
        self.assertEqual(names, [line.split()[0] for line in lines])
        status, text, err = evenwall("solve", "--csv", *inputs, cwd=self.folder / "shelf")
        self.assertEqual((0, ""), (status, err))
        self.assertEqual(self.SESSIONS_HEAD, text.splitlines()[0])
        rows = list(csv.DictReader(io.StringIO(text)))
        self.assertEqual(names, [row["source"] for row in rows])
        self.assertEqual(["'=Linnet, no. 2", "Larkspur"], [row["cartridge"] for row in rows])
        documents = [json.loads(line) for line in evenwall("solve", "--json", *inputs, cwd=self.folder / "shelf")[1].splitlines()]
        for row, line, document in zip(rows, lines, documents, strict=True):
            now, set_to = document["now"], document["set_to"]
            self.assertEqual([set_to["tilt_deg"], set_to["u_deg"], now["turn_deg"], now["u_deg"], now["height_mm"]],
                             [float(row[key]) for key in ("set_to_deg", "u_deg", "turn_deg", "u_turn_deg", "shim_mm")])
            self.assertEqual([now["place_shim_at"], document["verdict"]["state"], "", "", "", ""],
                             [row[key] for key in ("shim_at", "verdict", "set_to_units", "u_units", "turn_units", "warnings")])
            self.assertIn(f"{set_to['tilt_deg']:+.2f}°", line)
            self.assertIn(f"{now['turn_deg']:+.2f}°", line)

    def test_sessions_are_listed_one_line_each_in_order(self):
        first, second = self.two_sessions()
        self.check_table([first.name, second.name], ["a-first", "b-second"])

    def test_a_folder_of_sessions_stands_for_its_sessions(self):
        self.two_sessions()
        self.check_table(["."], ["./a-first", "./b-second"])

    def test_a_verification_at_another_tilt_than_logged_fails(self):
        copy = self.broken_copy("not-as-logged")
        # A speed that is found is a warning. The stated uncertainty is twice that of the gauge, so that no chance error fails the right log.
        (copy / "session.json").write_text(json.dumps({**SCENARIO["session"], "rpm": 33.3, "gauge_u_deg": 0.02}))
        log = (copy / "steps.csv").read_text()
        self.assertIn("step-04.wav,2,yes", log)
        right, wrong = (log.replace("step-04.wav,2,yes", f"step-04.wav,{tilt},verify") for tilt in (2, 1.2))
        (copy / "steps.csv").write_text(right)
        status, out, err = evenwall("solve", "--json", copy)
        self.assertEqual((0, ""), (status, err))
        self.assertTrue(json.loads(out)["verification"][0]["agrees"])
        (copy / "steps.csv").write_text(wrong)
        status, out, err = evenwall("solve", "--json", copy)
        self.assertEqual(0, status, err)
        document = json.loads(out)
        self.assertEqual(["verification_failed"], [w["code"] for w in document["warnings"]])
        self.assertEqual(["check", False], [document["verdict"]["state"], document["verification"][0]["agrees"]])
        self.assertIn("verification_failed", err)
        status, out, err = evenwall("solve", "--strict", copy)
        self.assertEqual(1, status)
        self.assertIn("verification_failed", err)
        for flags in ([], ["--full"]):
            text = " ".join(evenwall("solve", copy, *flags)[1].split())
            self.assertTrue(text.startswith("Verification failed: step-04.wav is not as predicted. The turn that remains is "), text[:120])

    def test_the_turn_from_the_last_recording_is_the_true_one(self):
        # The gauge of this session is ten times worse than its log states it: the turn does not depend on the gauge.
        for seed, gauge_u in ((21, 0.01), (22, 0.1)):
            with self.subTest(seed=seed):
                folder = simulated(PROGRAM, self.folder / f"turn-{seed}", {**short_demo(), "gauge_error_u_deg": gauge_u}, seed)
                truth = json.loads((folder / "truth.json").read_text())
                status, out, err = evenwall("solve", "--json", "--quiet", folder)
                self.assertEqual(0, status, err)
                document = json.loads(out)
                best = recommended_truth(document["recommended"], truth["least_crosstalk_deg"], truth["equal_crosstalk_deg"])
                remains = best - truth["steps"][-1]["true_tilt_deg"]
                self.assertEqual([f"step-{len(truth['steps']):02}.wav", "last"], [document["now"]["capture"], document["now"]["from"]])
                self.assertGreater(abs(remains), 0.5)
                self.assertAlmostEqual(remains, document["now"]["turn_deg"], delta=0.005)
                self.assertEqual("clockwise" if remains > 0 else "anticlockwise", document["now"]["direction"])

    def broken_copy(self, name):
        copy = self.folder / name
        shutil.copytree(self.session, copy)
        return copy

    def test_a_step_that_cannot_be_read_is_excluded_and_named(self):
        copy = self.broken_copy("broken")
        victim = copy / self.captures[1].name
        victim.write_bytes(b"")
        status, out, err = evenwall("solve", "--json", copy)
        self.assertEqual(0, status, err)
        self.assertIn(victim.name, err)
        self.assertIn("step_unreadable", [w["code"] for w in json.loads(out)["warnings"]])
        self.assertAlmostEqual(self.truth_least(), self.answer(out)["tilt_deg"], delta=0.05)
        self.assertEqual(1, evenwall("solve", "--strict", copy)[0])

    def test_each_broken_step_is_named_and_the_others_give_the_answer(self):
        copy = self.broken_copy("many-broken")
        good = (copy / self.captures[0].name).read_bytes()
        self.assertEqual(b"data", good[36:40])  # a plain 44-byte header, 24-bit stereo
        samples = good[44:]

        def wav(data, channels=2, bits=24, tag=1):
            frame = channels * bits // 8
            return (b"RIFF" + struct.pack("<I", 36 + len(data)) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, tag, channels, 48000, 48000 * frame, frame, bits)
                    + b"data" + struct.pack("<I", len(data)) + data)

        values = [int.from_bytes(samples[i:i + 3], "little", signed=True) for i in range(0, len(samples), 3)]
        clip = max(values) // 3
        (copy / "silent.wav").write_bytes(wav(bytes(6 * 48000 * 6)))
        (copy / "clipped.wav").write_bytes(wav(b"".join(max(-clip, min(clip, v)).to_bytes(3, "little", signed=True) for v in values)))
        (copy / "mono.wav").write_bytes(wav(samples[:3 * 48000 * 6], channels=1))
        (copy / "truncated.wav").write_bytes(good[:44 + len(samples) // 4])
        (copy / "nan.wav").write_bytes(wav(struct.pack("<f", float("nan")) * (2 * 48000 * 6), bits=32, tag=3))
        broken = ["missing.wav", "silent.wav", "clipped.wav", "mono.wav", "truncated.wav", "nan.wav"]
        with open(copy / "steps.csv", "a") as log:
            for i, name in enumerate(broken):
                log.write(f"{name},{0.1 * i + 0.3:.1f},yes\n")
        status, out, err = evenwall("solve", "--json", copy)
        self.assertEqual(0, status, err)
        solution = json.loads(out)
        told = [w["message"] for w in solution["warnings"] if w["code"] == "step_unreadable"]
        for name in broken:
            self.assertEqual(1, sum(name in message for message in told), f"{name}: {told}")
        self.assertEqual(sorted(c.name for c in self.captures), sorted(step["capture"] for step in solution["steps"]))
        untouched = self.answer(evenwall("solve", "--json", self.session)[1])
        self.assertEqual(untouched["tilt_deg"], solution["least_crosstalk"]["tilt_deg"])

    def test_a_row_that_cannot_be_read_excludes_its_step_with_one_warning(self):
        copy = self.broken_copy("bad-row")
        with open(copy / "steps.csv", "a") as log:
            log.write(f"{self.captures[0].name},2x,yes\n")
        status, out, err = evenwall("solve", "--json", copy)
        self.assertEqual(0, status, err)
        told = [w["message"] for w in json.loads(out)["warnings"] if w["code"] == "step_unreadable"]
        self.assertEqual(1, len(told), told)
        self.assertIn("2x", told[0])

    def test_a_bad_input_does_not_affect_the_others(self):
        status, out, err = evenwall("solve", "--json", self.folder / "nowhere", self.session)
        self.assertEqual(1, status)
        self.assertEqual(1, len(out.splitlines()))
        self.assertIn("nowhere", err)

    def test_a_table_of_voltmeter_readings_is_solved(self):
        meter = self.folder / "meter.csv"
        # Calculated by hand for least crosstalk at +0.4, shear 0.01, quadratures 0.008 each way: magnitudes sqrt((s ± T)² + q²) in decibels.
        rows = ["tilt_deg,right_into_left_db,left_into_right_db,u_db"]
        for tilt in (-2, -1, 0, 1, 2):
            t = math.tan(math.radians(tilt - 0.4))
            rows.append(f"{tilt},{10 * math.log10((0.01 + t) ** 2 + 0.008 ** 2):.3f},{10 * math.log10((0.01 - t) ** 2 + 0.008 ** 2):.3f},0.05")
        meter.write_text("\n".join(rows) + "\n")
        status, out, _ = evenwall("solve", "--json", "--gauge-u", "0.001", meter)
        self.assertEqual(0, status)
        solution = json.loads(out)
        self.assertAlmostEqual(0.4, solution["least_crosstalk"]["tilt_deg"], delta=0.01)
        self.assertIsNone(solution["steps"][0]["right_into_left_phase_deg"])
        self.assertIn("sizes_only", [w["code"] for w in solution["warnings"]])
        # If phases are given as well, the fit uses them and there is no such warning. Equal quadratures are in phase with each other.
        rows = ["tilt_deg,right_into_left_db,left_into_right_db,right_into_left_phase_deg,left_into_right_phase_deg,u_db"]
        for tilt in (-2, -1, 0, 1, 2):
            t = math.tan(math.radians(tilt - 0.4))
            rl, lr = complex(0.01 + t, 0.008), complex(0.01 - t, 0.008)
            rows.append(",".join(f"{x:.4f}" for x in (tilt, 20 * math.log10(abs(rl)), 20 * math.log10(abs(lr)),
                                                      math.degrees(cmath.phase(rl)), math.degrees(cmath.phase(lr)), 0.05)))
        meter.write_text("\n".join(rows) + "\n")
        status, out, _ = evenwall("solve", "--json", "--gauge-u", "0.001", meter)
        solution = json.loads(out)
        self.assertAlmostEqual(0.4, solution["least_crosstalk"]["tilt_deg"], delta=0.01)
        self.assertNotIn("sizes_only", [w["code"] for w in solution["warnings"]])

    def test_inputs_that_are_not_sessions_are_refused(self):
        meter = self.folder / "meter.csv"
        meter.write_text("tilt_deg,right_into_left_db,left_into_right_db\n0,-30,-31\n")
        self.refused(1, ["solve", meter], "at least three different tilts")
        empty = self.folder / "empty-folder"
        empty.mkdir()
        self.refused(1, ["solve", empty], "steps.csv")
        self.refused(1, ["solve", self.captures[0]], "neither")

    # ------------------------------------------------------------ calibrate

    ELECTRONICS = {"rl": cmath.rect(10 ** (-35 / 20), 0.9), "lr": cmath.rect(10 ** (-30 / 20), -2.2)}

    @classmethod
    def electronics(cls):
        def number(z):
            return {"re": z.real, "im": z.imag}
        return [[number(1 + 0j), number(cls.ELECTRONICS["rl"])], [number(cls.ELECTRONICS["lr"]), number(1 + 0j)]]

    def simulated(self, name, **changes):
        folder = self.folder / name
        if not folder.exists():
            scenario = self.folder / f"{name}.scenario.json"
            scenario.write_text(json.dumps({**SCENARIO, **changes}))
            status, out, err = evenwall("simulate", "--scenario", scenario, "--seed", 3, "-o", folder)
            self.assertEqual(0, status, err)
        return folder

    def injected(self, side, tones=(1000, 6000), noise_db=-70):
        """A perfect upright cartridge acts as an injection without a generator: the crosstalk of its capture is from the electronics alone."""
        bands = [{"band": None, "duration_s": 0.4}]
        for tone in tones:
            bands += [{"band": side, "duration_s": 2.5, "frequency_hz": tone}, {"band": None, "duration_s": 0.4}]
        folder = self.simulated(f"injected-{side}-{'-'.join(map(str, tones))}", record={"bands": bands}, gauge_error_u_deg=0, session={},
                                cartridge={"electronics": self.electronics()}, noise={"surface_noise_db": noise_db}, steps=[{"tilt_deg": 0}])
        return next(folder.glob("*.wav"))

    def assertMatrix(self, point):
        seen = {"rl": complex(*point["matrix"][0][1].values()), "lr": complex(*point["matrix"][1][0].values())}
        self.assertEqual([{"re": 1, "im": 0}] * 2, [point["matrix"][0][0], point["matrix"][1][1]])
        for i, way in enumerate(("rl", "lr")):
            # Noise 70 dB down over 2.5 s leaves about 1e-6 per part; the requirement is 1e-4.
            self.assertLess(abs(seen[way] - self.ELECTRONICS[way]), 1e-4, way)
            self.assertLess(abs(seen[way] - self.ELECTRONICS[way]), 6 * point["u_off_diagonal"][i], way)

    def test_calibrate_finds_the_crosstalk_of_the_electronics(self):
        captures = [self.injected("left"), self.injected("right")]
        status, out, err = evenwall("calibrate", "--json", *captures)
        self.assertEqual((0, ""), (status, err))
        document = json.loads(out)
        jsonschema.Draft202012Validator(json.loads((DOCS / "calibration.schema.json").read_text())).validate(document)
        self.assertEqual([1000, 6000], [round(p["frequency_hz"]) for p in document["points"]])
        for point in document["points"]:
            self.assertMatrix(point)
        target = self.folder / "preamp.json"
        status, table, err = evenwall("calibrate", *captures, "-o", target, "--jobs", 1)
        self.assertEqual((0, ""), (status, err))
        self.assertEqual(out, target.read_text())
        self.assertRegex(table, r"1000\.0 Hz +-(35\.0|34\.9)\S* dB +\S+ dB .*right into left")
        self.assertLessEqual(max(map(len, table.splitlines())), 80)
        self.assertEqual((0, "", ""), evenwall("calibrate", "--json", *captures, "-o", target))

    def test_calibrate_names_missing_passages_and_files(self):
        left, right, low = self.injected("left"), self.injected("right"), self.injected("left", (1000,))
        self.refused(1, ["calibrate", left], "no right-only passage at 1000.0 Hz, no right-only passage at 6000.0 Hz")
        status, out, err = evenwall("calibrate", "--json", low, right)
        self.assertEqual((0, 1), (status, len(json.loads(out)["points"])))
        self.assertRegex(err, r"\Aevenwall: missing_passage: no left-only passage at 6000.0 Hz[^\n]*\n\Z")
        target = self.folder / "strict-preamp.json"
        status, out, err = evenwall("calibrate", "--strict", low, right, "-o", target)
        self.assertEqual((1, False), (status, target.exists()))
        self.assertIn("--strict", err)
        status, out, err = evenwall("calibrate", "--json", "--quiet", low, self.folder / "absent.wav", right)
        self.assertEqual((0, 1), (status, len(json.loads(out)["points"])))
        self.assertEqual(1, err.count("\n"))
        self.assertIn("absent.wav", err)
        self.refused(1, ["calibrate", left, right, "-o", left], "input")

    def test_a_calibration_removes_the_crosstalk_of_the_electronics(self):
        preamp = self.folder / "for-solve.json"
        self.assertEqual(0, evenwall("calibrate", self.injected("left"), self.injected("right"), "-o", preamp)[0])
        folder = self.simulated("through-preamp", cartridge={**SCENARIO["cartridge"], "electronics": self.electronics()})
        alone = self.answer(evenwall("solve", "--json", self.session)[1])["tilt_deg"]
        status, out, err = evenwall("solve", "--json", folder, "--calibration", preamp)
        self.assertEqual(0, status, err)
        self.assertEqual(str(preamp), json.loads(out)["options"]["calibration"])
        # The same seed gives the same gauge errors. Surface noise of 55 dB down moves either answer by about 1e-3 degrees.
        self.assertAlmostEqual(alone, self.answer(out)["tilt_deg"], delta=0.005)
        untouched = self.answer(evenwall("solve", "--json", folder)[1])["tilt_deg"]
        self.assertGreater(abs(untouched - alone), 0.1)

        shutil.copy(preamp, folder / "preamp.json")
        facts = json.loads((folder / "session.json").read_text())
        (folder / "session.json").write_text(json.dumps({**facts, "calibration": "preamp.json"}))
        status, by_key, err = evenwall("solve", "--json", folder)
        self.assertEqual(0, status, err)
        self.assertEqual(self.answer(out), self.answer(by_key))
        self.assertEqual("preamp.json", json.loads(by_key)["options"]["calibration"])
        # The flag takes precedence over the key, even if the key's file is missing.
        (folder / "preamp.json").unlink()
        self.refused(1, ["solve", "--json", folder], "preamp.json")
        self.assertEqual(self.answer(out), self.answer(evenwall("solve", "--json", folder, "--calibration", preamp)[1]))
        self.refused(1, ["solve", folder, "--calibration", folder / "truth.json"], "truth.json")
        self.refused(1, ["solve", self.session, "--calibration", preamp, "-o", preamp], "input")
        # `measure` keeps the key for `solve`, and it keeps the ratios as measured.
        capture = next(folder.glob("*.wav"))
        seen = json.loads(evenwall("measure", "--json", capture, "--session", folder / "session.json")[1])
        self.assertEqual("preamp.json", seen["session"]["calibration"])
        self.assertEqual(json.loads(evenwall("measure", "--json", capture)[1])["crosstalk"], seen["crosstalk"])

    def test_a_single_thing_is_counted_in_the_singular(self):
        scenario = self.folder / "one.json"
        scenario.write_text(json.dumps({**SCENARIO, "steps": SCENARIO["steps"][:1]}))
        status, out, err = evenwall("simulate", "--scenario", scenario, "-o", self.folder / "one")
        self.assertEqual(0, status, err)
        self.assertIn("one: 1 recording, steps.csv", out)
        shutil.copytree(self.session, self.folder / "one-field")
        (self.folder / "one-field" / "steps.csv").write_text("capture,tilt_deg\nstep-01.wav\nstep-02.wav,0\n")
        self.assertIn("steps.csv:2: the row has 1 field, but the header has 2", evenwall("solve", self.folder / "one-field")[2])

    def test_simulate_does_not_overwrite_a_session(self):
        scenario = self.folder / "session-scenario.json"
        self.refused(1, ["simulate", "--scenario", scenario, "-o", self.session], "steps.csv")
        for name in ("step-01.wav", "session.json", "truth.json"):  # files of a session before its log is written
            folder = self.folder / f"holds-{name}"
            folder.mkdir()
            (folder / name).write_text("mine")
            self.refused(1, ["simulate", "--scenario", scenario, "-o", folder], name)
            self.assertEqual([(name, "mine")], [(p.name, p.read_text()) for p in folder.iterdir()])

    # ------------------------------------------------------------ the process

    def test_a_full_device_gives_exit_status_1(self):
        with open("/dev/full", "wb") as full:
            status, _, err = evenwall("measure", self.captures[0], stdout=full)
        self.assertEqual(1, status)
        self.assertIn("standard output", err)

    def test_a_closed_pipe_gives_exit_status_0_without_a_message(self):
        read_end, write_end = os.pipe()
        os.close(read_end)
        status, _, err = evenwall("measure", self.captures[0], stdout=write_end)
        os.close(write_end)
        self.assertEqual((0, ""), (status, err))

    def test_colours_appear_only_on_a_terminal_that_permits_them(self):
        def on_terminal(env):
            master, slave = os.openpty()
            run = subprocess.Popen([PROGRAM, "measure", str(self.captures[0])], stdout=slave, stderr=subprocess.DEVNULL,
                                   env={**os.environ, "TERM": "xterm", **env})
            os.close(slave)
            out = b""
            try:
                while chunk := os.read(master, 4096):
                    out += chunk
            except OSError:  # the terminal's other end is closed
                pass
            run.wait()
            os.close(master)
            return out
        environment = {k: "" for k in ("NO_COLOR",)}
        self.assertIn(b"\x1b[", on_terminal(environment))
        self.assertNotIn(b"\x1b[", on_terminal({"NO_COLOR": "1"}))

    def test_closed_descriptors_do_no_harm(self):
        target = self.folder / "closed.json"
        line = f'exec "{PROGRAM}" measure --json "{self.captures[0]}" -o "{target}" <&- >&- 2>&-'
        self.assertEqual(0, subprocess.run(["sh", "-c", line]).returncode)
        self.assertEqual("evenwall/reading/1", json.loads(target.read_text())["schema"])

    def test_a_signal_ends_the_program_with_its_exit_status(self):
        for sent, status in ((signal.SIGINT, 130), (signal.SIGTERM, 143)):
            target = self.folder / f"interrupted-{status}"
            long = {**SCENARIO, "record": {"bands": [{"band": "left", "duration_s": 400}, {"band": "right", "duration_s": 400}]}}
            (self.folder / "long.json").write_text(json.dumps(long))
            run = subprocess.Popen([PROGRAM, "simulate", "--scenario", str(self.folder / "long.json"), "-o", str(target)],
                                   stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
            deadline = time.monotonic() + 20
            while not (target.exists() and list(target.iterdir())) and time.monotonic() < deadline:
                time.sleep(0.01)
            self.assertIsNone(run.poll(), "the program ended before it could be interrupted")
            run.send_signal(sent)
            self.assertEqual(status, run.wait(timeout=5))
            run.stderr.close()
            self.assertFalse(target.exists())


class Report(unittest.TestCase):
    """Tests the behaviour of the command; browser_test.py tests the look of the page."""

    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp())
        self.addCleanup(shutil.rmtree, self.folder)
        self.document = {"schema": "evenwall/solution/1", "least_crosstalk": {"tilt_deg": 0.5, "u_deg": 0.1}, "balance": {}, "uncertainty": [],
                         "recommended": {"tilt_deg": 0.5, "u_deg": 0.1, "interval95_deg": [0.3, 0.7], "right_into_left_db": -30,
                                         "left_into_right_db": -30.5},
                         "not_correctable": {"least_rms_crosstalk_db": -31, "rotation_quadrature_deg": 0.1},
                         "tilt_response": {"degrees_per_unit": 1}, "shim": {"from_tilt_deg": 0, "move_deg": 0.5},
                         "steps": [{"capture": "a.wav", "tilt_deg": 0, "right_into_left_db": -28, "left_into_right_db": -28, "used": True,
                                    "tilt_from_signal_deg": 0, "audit_deg": 0, "u_audit_deg": 0.1}]}
        self.path = self.folder / "solution.json"
        self.path.write_text(json.dumps(self.document))

    def test_report_reads_and_writes_files_or_streams(self):
        status, out, err = evenwall("report", self.path)
        self.assertEqual((0, ""), (status, err))
        self.assertIn("the azimuth to +0.50° (95 % interval +0.30° to +0.70°)", out)
        self.assertNotRegex(out, r"\b(nan|inf)\b")
        self.assertEqual((0, out, ""), evenwall("report", "-", stdin=self.path.read_bytes()))
        self.assertEqual((0, "", ""), evenwall("report", self.path, "-o", self.folder / "page.html"))
        self.assertEqual(out, (self.folder / "page.html").read_text())

    def test_a_wrong_document_is_refused_and_no_file_is_left(self):
        del self.document["shim"]
        for text, said in (("{}", "no key \"schema\""), ("[", "broken JSON"), (json.dumps(self.document), "solution.json: key /shim is missing")):
            self.path.write_text(text)
            status, out, err = evenwall("report", self.path, "-o", self.folder / "page.html")
            self.assertEqual((1, ""), (status, out))
            self.assertRegex(err, r"\Aevenwall: [^\n]*" + said + r"[^\n]*\n\Z")
        self.assertFalse((self.folder / "page.html").exists())
        self.assertEqual(1, evenwall("report", self.path, "-o", self.path)[0])
        self.assertEqual(2, evenwall("report")[0])

    def test_missing_charts_cause_a_warning_that_fails_a_strict_run(self):
        bare = {"PATH": "/nonexistent"}
        status, out, err = evenwall("report", self.path, env=bare)
        self.assertEqual(0, status)
        self.assertIn("id=\"no-charts\"", out)
        self.assertRegex(err, "gnuplot")
        self.assertEqual("", evenwall("report", self.path, "--quiet", env=bare)[2])
        self.assertEqual((1, ""), evenwall("report", self.path, "--strict", env=bare)[:2])


if __name__ == "__main__":
    unittest.main()
