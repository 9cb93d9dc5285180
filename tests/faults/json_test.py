# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests rows J of docs/reliability.md: JSON that is broken, hostile, or written by the program itself."""
import json
import os
import unittest

from bench import FaultCase, evenwall, some_of

NESTED = 100_000


def replaced(document, pointer, value):
    """Returns a copy of the document with another value at the pointer (keys and indices)."""
    copy = json.loads(json.dumps(document))
    at = copy
    for key in pointer[:-1]:
        at = at[key]
    at[pointer[-1]] = value
    return copy


def pointers(value, at=()):
    """Yields every place of a document; of a list only its first element."""
    if at:
        yield at
    for key in value if isinstance(value, dict) else range(min(1, len(value))) if isinstance(value, list) else ():
        yield from pointers(value[key], (*at, key))


class Documents(FaultCase):
    """Tests faulty session facts, readings, solutions, calibrations and scenarios."""

    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        runs = [evenwall("measure", "--json", name, "--tilt-deg", tilt) for name, tilt in zip(cls.captures, ("-1.5", "0", "1", "2"))]
        cls.readings = [run.json() for run in runs]
        cls.reading = cls.readings[0]

    def each_reader(self, text):
        """Yields (name, run) of every command that reads JSON, each with the same text."""
        text = text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")
        name = self.put("bad.jsonl", text.replace(b"\n", b" "))
        facts = self.put("bad.json", text)
        yield "readings", evenwall("solve", "--json", name, watch=self.folder)
        yield "readings piped", evenwall("solve", "--json", "-", stdin=text.replace(b"\n", b" "))
        yield "facts", self.solve(None, text)
        yield "facts of measure", evenwall("measure", self.capture, "--session", facts, watch=self.folder)
        yield "calibration", evenwall("solve", self.session, "--calibration", facts, watch=self.folder)
        yield "scenario", evenwall("simulate", "--scenario", facts, "-o", self.folder / "made", watch=self.folder)

    def refuse_everywhere(self, text, *patterns):
        for reader, run in self.each_reader(text):
            with self.subTest(reader=reader, text=text[:40]):
                self.assertRefused(run, *patterns)

    def refuse_facts(self, facts, *patterns):
        text = facts if isinstance(facts, (str, bytes)) else json.dumps(facts)
        with self.subTest(text[:60]):
            self.assertRefused(self.solve(None, text), "session.json", *patterns)

    def refuse_reading(self, document, *patterns):
        text = document if isinstance(document, str) else json.dumps(document)
        with self.subTest(text[-60:]):
            self.assertRefused(evenwall("solve", "--json", "-", stdin=text.encode("utf-8", "surrogatepass")), "standard input:1", *patterns)

    def exclude_reading(self, text, pattern):
        """A number out of its range excludes only its own step; here that is the only step."""
        with self.subTest(text[-60:]):
            run = evenwall("solve", "--json", "-", stdin=text.encode())
            self.assertEqual((1, ""), (run.status, run.out))
            self.assertRegex(run.err, "standard input:1: key [^\n]*" + pattern + r"[^\n]*; [^\n]* The step is excluded\. ")

    def test_J1_depth(self):
        self.refuse_everywhere("[" * NESTED, "64 levels")
        self.refuse_everywhere('{"a":' * NESTED, "64 levels")
        self.refuse_everywhere("[" * NESTED + "]" * NESTED, "64 levels")
        self.refuse_everywhere('{"stylus":' + "[" * 70 + "]" * 70 + "}", "64 levels")

    def test_J2_duplicate_keys(self):
        self.refuse_everywhere('{"schema":"evenwall/reading/1","schema":"evenwall/reading/1"}', "schema.*repeated")
        self.refuse_facts('{"stylus":{"profile":"a","profile":"b"}}', "profile.*repeated")
        self.refuse_facts('{"stylus":{},"sty\\u006cus":{}}', "stylus.*repeated")

    def test_J3_numbers_out_of_range(self):
        self.refuse_everywhere('{"rpm":1e999}', "too large")
        for number in ("18446744073709551616", "1e300", "-1", "0", "1e19", "-9223372036854775809"):
            self.refuse_facts(f'{{"rpm":{number}}}', "/rpm")
        for number in ("1e300", "18446744073709551616", "0.5", "-2147483649", "4294967298"):
            text = json.dumps(self.reading).replace('"channels": 2', f'"channels": {number}')
            self.exclude_reading(text, "/audio/channels")
        self.exclude_reading(json.dumps(replaced(self.reading, ("crosstalk", "right_into_left", "same_passage", "u_re"), -1)), "same_passage/u_re is -1")
        for number in ("1e300", "-1", "3"):
            scenario = self.put("scenario.json", f'{{"schema":"evenwall/scenario/1","bits":{number}}}')
            self.assertRefused(evenwall("simulate", "--scenario", scenario, "-o", self.folder / "made", watch=self.folder), "bits")

    def test_J4_wrong_types(self):
        for key, values in {"rpm": ('"33"', "null", "true", "[]", "{}"), "cartridge": ("1", "null", "[]"), "bands": ('"left"', "[1]", '["up"]', "{}"),
                            "stylus": ("1", "[]", '{"profile":1}', '{"tilt_limit_deg":"2"}'), "gauge_u_deg": ('"0.1"', "false")}.items():
            for value in values:
                self.refuse_facts(f'{{"{key}":{value}}}', f"/{key}")
        for whole in ("[]", "1", '"x"', "null", "true"):
            self.refuse_everywhere(whole)
        for pointer, value in ((("crosstalk", "right_into_left", "same_passage", "re"), "1"), (("crosstalk", "frequency_hz"), None),
                               (("warnings",), {}), (("passages",), 3), (("passages", 0, "driven"), "up"), (("audio", "channels"), "2"),
                               (("capture",), 7), (("tilt_deg",), "1"), (("use",), True), (("session",), [])):
            self.refuse_reading(replaced(self.reading, pointer, value), "/" + "/".join(map(str, pointer[:2])))

    def test_J4_every_key_of_any_type(self):
        """Every place of the program's own documents gets every type: the result is an answer or a refusal, never a fault of the program."""
        solution = self.answer(None, json.dumps({"cartridge": "Larkspur", "record": "Even Furrow"}))
        other = replaced(solution, ("session", "cartridge"), "Larkspur 2")
        survey = evenwall("survey", "--json", "-", stdin=(json.dumps(solution) + "\n" + json.dumps(other)).encode()).json()
        others = "".join("\n" + json.dumps(r) for r in self.readings[1:])
        for document, words, more in ((self.reading, ["solve", "--json", "-"], others), (solution, ["survey", "--json", "-"], "\n" + json.dumps(other)),
                                      (survey, ["report", "-"], "")):
            places = list(pointers(document))
            self.assertGreater(len(places), 25)
            for turn, place in enumerate(places):
                for value in some_of(({"x": 1}, [1], "x", True, 1e308, 1e-320), turn):
                    with self.subTest(words=words, place=place, value=value):
                        # A page without gnuplot takes a tenth of the time; charts are drawn only for the value near the end of the range of doubles.
                        env = None if value == 1e308 else {"PATH": "/nonexistent"}
                        run = evenwall(*words, stdin=(json.dumps(replaced(document, place, value)) + more).encode(), env=env, metered=False)
                        self.assertIn(run.status, (0, 1), run.err)
                        self.assertNotIn("fault of this program", run.err)
                        if run.status == 1:
                            self.assertRegex(run.err, r"\Aevenwall: ")

    def test_J4_a_broken_link_is_refused(self):
        """Anything with the name session.json is read or refused, never skipped."""
        for target, text in (("session.json", "symbolic links"), ("gone.json", "No such file")):
            folder = self.broken_session()
            (folder / "session.json").unlink()
            os.symlink(target, folder / "session.json")
            self.assertRefused(evenwall("solve", "--json", folder, watch=self.folder), "session.json", text)

    def test_J5_not_json(self):
        for text in ('{"rpm":NaN}', '{"rpm":Infinity}', '{"rpm":-Infinity}', '{"rpm":33,}', '{"rpm":33}//', '/*x*/{}', "{} {}", "{}x", "",
                     "{'rpm':33}", '{"rpm":033}', '{"rpm":.5}', '{"rpm":+5}', '{"rpm":0x10}', '{"rpm"', '{"a":"b', '{"a":"\t"}'):
            self.refuse_facts(text, "JSON at line 1, column")
        for text in ('{"tilt_deg":NaN}', '{"a":1,}', "{} {}", "{}x", "nonsense"):
            self.refuse_reading(text, "JSON at line 1, column")
        good = "\n".join(json.dumps(r) for r in self.readings)
        for torn in ("{", '{"schema":"evenw', json.dumps(self.reading)[:-1], json.dumps(self.reading)[:700]):
            run = evenwall("solve", "--json", "-", stdin=(torn + "\n" + good).encode())
            self.assertIn("step_unreadable", run.warnings())  # a line that a crash has torn excludes only its own step
            self.assertRegex(run.err, "standard input:1: the line was cut off by a crash")
        run = evenwall("solve", "-", stdin=b"{")
        self.assertEqual((1, ""), (run.status, run.out))
        self.assertIn("no step can be used", run.err)
        marked = "\ufeff" + json.dumps({"cartridge": "A"})
        self.assertEqual("A", self.assertAnswered(self.solve(None, marked))["session"]["cartridge"])

    def test_J6_invalid_text_is_refused(self):
        for text in (b'{"cartridge":"\xff"}', b'{"cartridge":"\xc0\x80"}', b'{"cartridge":"\xed\xa0\x80"}', b'{"cartridge":"\xf8\x88\x80\x80\x80"}',
                     b'{"cartridge":"\\ud800"}', b'{"cartridge":"\\udc00\\ud800"}', b'{"cartridge":"\\u0000"}', b'{"\\u0000":1}', b'{"cartridge":"\0"}'):
            self.refuse_facts(text)
        name = self.put(b"caf\xe9\xff.wav".decode("utf-8", "surrogateescape"), self.good)
        run = evenwall("measure", "--json", name)
        self.assertEqual(0, run.status, run.err)
        self.assertIn("caf\ufffd\ufffd.wav", run.raw.decode("utf-8"))  # valid UTF-8, the bytes replaced

    def test_J7_versions_and_fields(self):
        self.refuse_reading({**self.reading, "schema": "evenwall/reading/2"}, "version")
        self.refuse_reading({**self.reading, "schema": "other/1"}, "the schema is .other/1., but .evenwall/reading/1. is required")
        self.refuse_reading({k: v for k, v in self.reading.items() if k != "schema"}, "schema")
        for key in ("capture", "crosstalk"):
            self.refuse_reading({k: v for k, v in self.reading.items() if k != key}, key)
        extra = [{**r, "moon": {"phase": [1, None]}} for r in self.readings]
        plain = evenwall("solve", "--json", "-", stdin="\n".join(map(json.dumps, self.readings)).encode())
        with_extra = evenwall("solve", "--json", "-", stdin="\n".join(map(json.dumps, extra)).encode())
        self.assertEqual((0, plain.out), (with_extra.status, with_extra.out), with_extra.err)

    def test_J8_a_missing_number_is_null_with_a_reason(self):
        """Documents of hard cases hold no NaN or infinity; a warning gives the reason for each missing value."""
        one_side = self.put("one.wav", self.good[:44 + len(self.samples) // 2])
        runs = [evenwall("measure", "--json", one_side), evenwall("measure", "--json", self.put("none.wav", b"")),
                self.solve("capture,tilt_deg\nstep-01.wav,0\n"), self.solve("capture,tilt_deg\nstep-01.wav,0\nstep-02.wav,1e300\n"),
                self.solve("capture,tilt_deg\nstep-01.wav,0\nstep-02.wav,1e-320\n")]
        for run in runs:
            for line in run.out.splitlines():
                json.loads(line, parse_constant=lambda word: self.fail(f"{word} in {line[:80]}"))
        reading = runs[0].json()
        self.assertIsNone(reading["crosstalk"]["right_into_left"])
        self.assertIn("missing_passage", [w["code"] for w in reading["warnings"]])

    def test_J9_results_are_read_back_unchanged(self):
        by_folder = evenwall("solve", "--json", self.session)
        appended = self.folder / "readings.jsonl"
        for (name, tilt) in zip(self.captures, ("-1.5", "0", "1", "2")):
            more = ["--session", self.session / "session.json", "--tilt-deg", tilt]
            self.assertEqual(0, evenwall("measure", name.name, *more, "--append", appended, cwd=self.session).status)
        rows = [line.split(",")[1] for line in (self.session / "steps.csv").read_text().splitlines()[1:]]
        text = appended.read_text()
        for (line, row) in zip(text.splitlines(), rows):
            # Each number is written in the shortest form that is read back as the same value: reading and writing it again changes no byte.
            self.assertEqual(line, json.dumps(json.loads(line), separators=(",", ":"), ensure_ascii=False), row)
        again = evenwall("solve", "--json", appended).json()
        self.assertEqual(0, by_folder.status)
        by_stream = evenwall("solve", "--json", "-", stdin=appended.read_bytes()).json()
        self.assertEqual(("-", str(appended)), (by_stream.pop("source"), again.pop("source")))
        self.assertEqual(by_stream, again)

    def test_J10_more_values_than_a_document_needs(self):
        """A list of brackets would need a hundred times its length in memory; twice as many bytes of names are still read."""
        self.refuse_everywhere("[" + "[]," * 100_000 + "0]", "more values")
        roomy = json.dumps({"notes" * 10 + str(n): "x" * 40 for n in range(2000)})
        self.assertNotIn("more values", evenwall("report", "-", stdin=roomy.encode()).err)


if __name__ == "__main__":
    unittest.main()
