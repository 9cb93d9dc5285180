# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests promise 2 for every kind of text: time in proportion to the length, memory of at most ten times the text plus the program itself."""
import json
import os
import unittest

from bench import SANITIZED, FaultCase, evenwall

LONG = "EVENWALL_LONG" in os.environ
PROGRAM_KIB = 24 * 1024  # the program's own memory
MOST_OF_TEXT = 10
MOST_RATIO = 2.6      # of the time, for twice the text
ENOUGH_S = 0.2        # of processor time; below it the clock's steps and the program's start matter
SIZES = (200_000,) if SANITIZED and not LONG else (200_000, 400_000, 800_000) if not LONG else (1_000_000, 2_000_000, 4_000_000)  # bytes


def repeated(unit, size):
    return unit * max(1, size // len(unit))


def numbered(make, size):
    """Returns different lines of about `size` bytes in all."""
    length = len(make(10_000))
    return "".join(make(i) for i in range(max(1, size // length)))


def jsonl_texts():
    """Yields readings as a crash, a mistake or an attacker may leave them."""
    yield "an opening brace in each line", lambda n: repeated("{\n", n)
    yield "torn lines", lambda n: numbered(lambda i: f'{{"schema":"evenwall/reading/1","capture":"step-{i}.wav","tilt_de\n', n)
    yield "torn lines after blanks", lambda n: repeated(" " * 40 + '{"a"\n', n)
    yield "one long torn text", lambda n: '{"capture":"' + "x" * n
    yield "one long torn list", lambda n: '{"passages":[' + repeated("1,", n)
    yield "nested below the limit, torn", lambda n: repeated('{"a":' * 60 + "\n", n)
    yield "readings with an error", lambda n: numbered(
        lambda i: json.dumps({"schema": "evenwall/reading/1", "capture": f"step-{i}.wav", "error": {"code": "unreadable", "message": f"{i}: gone"}}) + "\n", n)
    yield "readings out of range", lambda n: numbered(
        lambda i: f'{{"schema":"evenwall/reading/1","capture":"step-{i}.wav","tilt_u":-1,"crosstalk":{{"frequency_hz":1000}}}}\n', n)
    yield "blank lines", lambda n: repeated("\n", n)


def list_texts(schema):
    """Yields documents with lists that are as dense as possible."""
    for inside in ("{},", "[],", "1,", "null,", '"",', '{"a":1},'):
        yield f"a list of {inside}", lambda n, inside=inside: f'{{"schema":"evenwall/{schema}/1","warnings":[' + repeated(inside, n)[:-1] + "]}"
    yield "a long text", lambda n: f'{{"schema":"evenwall/{schema}/1","name":"' + "x" * n + '"}'
    yield "objects in objects", lambda n: f'{{"schema":"evenwall/{schema}/1","x":[' + repeated('{"a":' * 50 + "1" + "}" * 50 + ",", n)[:-1] + "]}"
    yield "broken at the end", lambda n: f'{{"schema":"evenwall/{schema}/1","x":[' + repeated("\n", n) + "}"


class Proportion(FaultCase):
    def checked(self, run, size):
        self.assertIn(run.status, (0, 1), run.err[:300])
        self.assertNotIn("fault of this program", run.err)
        self.assertLess(len(run.err), 40_000, "the messages are too long")
        if not SANITIZED:
            self.assertLess(run.rss_kib, PROGRAM_KIB + MOST_OF_TEXT * size / 1024, f"{size} bytes")
        return run.cpu_s

    def assertInProportion(self, kind, run_of, texts):
        """Uses processor time, so that a busy machine has no effect; if the time looks too long, the shortest of several runs counts."""
        for name, make in texts:
            with self.subTest(kind, text=name):
                before = None
                for size in SIZES:
                    text = make(size).encode()
                    seconds = self.checked(run_of(text), len(text))
                    for _ in range(12):
                        if before is None or before[1] < ENOUGH_S or seconds / before[1] < MOST_RATIO:
                            break
                        seconds = min(seconds, self.checked(run_of(text), len(text)))
                        before = before[0], min(before[1], self.checked(run_of(before[0]), len(before[0])))
                    if before is not None and before[1] > ENOUGH_S and not SANITIZED:
                        self.assertLess(seconds / before[1], MOST_RATIO, f"{before[1]:.2f} s, then {seconds:.2f} s")
                    before = text, seconds

    def file_run(self, name, *words):
        return lambda text: evenwall(*words, self.put(name, text))

    def test_readings_in_a_file_take_time_and_memory_in_proportion(self):
        self.assertInProportion("readings", self.file_run("r.jsonl", "solve", "--json"), jsonl_texts())

    def test_readings_on_standard_input_take_time_and_memory_in_proportion(self):
        self.assertInProportion("readings piped", lambda text: evenwall("solve", "--json", "-", stdin=text), jsonl_texts())

    def test_step_logs_take_time_and_memory_in_proportion(self):
        head = "capture,tilt_deg,from_s,to_s\n"
        texts = (("stretches of one capture", lambda n: head + numbered(lambda i: f"step-01.wav,0,{100 + i},{101 + i}\n", n)),
                 ("captures that are missing", lambda n: "capture,tilt_deg\n" + numbered(lambda i: f"s{i},0\n", n)),
                 ("one row again and again", lambda n: "capture,tilt_deg\n" + repeated("a.wav,0\n", n)),
                 ("cells that are not numbers", lambda n: "capture,tilt_deg\n" + numbered(lambda i: f"s{i},x\n", n)),
                 ("tilts out of range", lambda n: "capture,tilt_deg\n" + numbered(lambda i: f"s{i},9e9\n", n)),
                 ("overlapping", lambda n: head + numbered(lambda i: f"step-01.wav,0,{i},1e6\n", n)),
                 ("empty rows", lambda n: "capture,tilt_deg\n" + numbered(lambda i: f",{i}\n", n)),
                 ("comments", lambda n: "capture,tilt_deg\n" + repeated("#\n", n)),
                 ("quotes", lambda n: "capture,tilt_deg\n" + repeated('"\n",1\n', n)))
        self.assertInProportion("log", lambda text: evenwall("solve", "--json", self.broken_session(text)), texts)

    def test_a_log_of_99000_stretches_beyond_the_end_is_solved(self):
        """All of them are beyond the end of the capture: each is excluded, twenty are named, and the rest are counted."""
        log = "capture,tilt_deg,from_s,to_s\nstep-01.wav,0,0,8\nstep-02.wav,1,,\n" + "".join(f"step-03.wav,0,{i + 100},{i + 101}\n" for i in range(99_000))
        run = evenwall("solve", "--json", self.broken_session(log), limit_s=200)
        self.assertEqual(0, run.status, run.err[:300])
        told = [w["message"] for w in run.json()["warnings"] if w["code"] == "step_unreadable"]
        self.assertEqual(21, len(told))
        self.assertRegex(told[-1], r"98980 more steps cannot be used")
        if not SANITIZED:
            self.assertLess(run.rss_kib, PROGRAM_KIB + MOST_OF_TEXT * len(log) / 1024)

    def test_meter_tables_take_time_and_memory_in_proportion(self):
        head = "tilt_deg,right_into_left_db,left_into_right_db\n"
        texts = (("good rows", lambda n: head + repeated("0,-30,-31\n", n)), ("bad rows", lambda n: head + repeated("0,x,\n", n)),
                 ("rows out of range", lambda n: head + repeated("0,9,9\n", n)), ("short rows", lambda n: head + repeated("0\n", n)))
        self.assertInProportion("meter", self.file_run("m.csv", "solve", "--json"), texts)

    def test_session_files_take_time_and_memory_in_proportion(self):
        def run_of(text):
            self.put("m.csv", "tilt_deg,right_into_left_db,left_into_right_db\n0,-30,-31\n")
            self.put("session.json", text)
            return evenwall("solve", "--json", self.folder / "m.csv")
        self.assertInProportion("session", run_of, list_texts("session"))

    def test_solutions_in_a_survey_take_time_and_memory_in_proportion(self):
        lines = (("an opening brace in each line", lambda n: '{}\n' + repeated("{\n", n)),
                 ("solutions without a tilt", lambda n: repeated('{"schema":"evenwall/solution/1"}\n', n)),
                 ("solutions out of range", lambda n: repeated('{"schema":"evenwall/solution/1","least_crosstalk":{"tilt_deg":1e300}}\n', n)))
        self.assertInProportion("survey", self.file_run("s.jsonl", "survey", "--json"), (*lines, *list_texts("solution")))

    def test_pages_take_time_and_memory_in_proportion(self):
        for schema in ("solution", "survey"):
            self.assertInProportion(f"report of a {schema}", lambda text: evenwall("report", "-", stdin=text, env={"PATH": "/nonexistent"}), list_texts(schema))

    def test_record_corrections_calibrations_and_scenarios_take_time_and_memory_in_proportion(self):
        self.assertInProportion("record correction", lambda text: evenwall("solve", "--json", self.session, "--record-correction", self.put("s.json", text)),
                                list_texts("survey"))
        self.assertInProportion("calibration", lambda text: evenwall("solve", "--json", self.session, "--calibration", self.put("c.json", text)),
                                list_texts("calibration"))
        self.assertInProportion("scenario", lambda text: evenwall("simulate", "--scenario", self.put("s.json", text), "-o", self.folder / "made"),
                                list_texts("scenario"))


if __name__ == "__main__":
    unittest.main()
