# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests rows L of docs/reliability.md: the step log is faulty."""
import json
import os
import unittest

from bench import FaultCase, evenwall

LOG = "capture,tilt_deg\nstep-01.wav,-1.5\nstep-02.wav,0\nstep-03.wav,1\nstep-04.wav,2\n"
ROWS = [("step-01.wav", "-1.5"), ("step-02.wav", "0"), ("step-03.wav", "1"), ("step-04.wav", "2")]


def log_of(rows, head=("capture", "tilt_deg"), separator=",", end="\n"):
    return "".join(separator.join(row) + end for row in [head, *rows])


class Log(FaultCase):
    """Tests which faults of steps.csv exclude a step and which refuse the log."""

    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.expected = cls.stripped(evenwall("solve", "--json", cls.session).json())

    @staticmethod
    def stripped(solution):
        return {key: solution[key] for key in ("recommended", "least_crosstalk", "equal_crosstalk", "steps", "curves")}

    def assertSameAnswer(self, log, *codes):
        document = self.assertAnswered(self.solve(log), *codes)
        self.assertEqual(self.expected, self.stripped(document))
        return document

    def assertCostsOneStep(self, log, pattern):
        """Checks that a message names the step's line, that the step is excluded, and that the answer is that of the other steps."""
        document = self.assertAnswered(self.solve(log), "step_unreadable")
        told = [w["message"] for w in document["warnings"] if w["code"] == "step_unreadable"]
        self.assertEqual(1, len(told), told)
        self.assertRegex(told[0], pattern)
        self.assertEqual(4, len(document["steps"]))
        self.assertEqual(self.expected["least_crosstalk"], document["least_crosstalk"])

    def test_L1_few_rows(self):
        for log in ("", "\n\n", "# nothing\n", "capture,tilt_deg\n"):
            with self.subTest(log):
                self.assertRefused(self.solve(log), "steps.csv", "row")
        one = self.assertAnswered(self.solve(log_of(ROWS[:1])), "few_steps")
        two = self.assertAnswered(self.solve(log_of(ROWS[:2])), "few_steps")
        widths = [d["least_crosstalk"]["u_deg"] for d in (one, two, self.expected)]
        self.assertGreater(widths[0], widths[2])
        self.assertGreater(widths[1], 0)

    def test_L1_readings_without_a_tilt(self):
        """Readings as `measure --json` writes them are solved by their crosstalk, and the answer is the turn from the last one."""
        readings = evenwall("measure", "--json", *self.captures).out
        solution = evenwall("solve", "-", "--json", "--quiet", stdin=readings.encode()).json()
        self.assertEqual("step-04.wav", os.path.basename(solution["recommended"]["from_capture"]))
        self.assertAlmostEqual(self.expected["least_crosstalk"]["tilt_deg"] - 2, solution["least_crosstalk"]["tilt_deg"], delta=0.1)
        self.assertTrue(all(s["audit_deg"] is None for s in solution["steps"]))

    def test_L2_bytes_and_line_ends(self):
        for name, log in {"mark": "\ufeff" + LOG, "CRLF": LOG.replace("\n", "\r\n"), "CR": LOG.replace("\n", "\r"),
                          "no end": LOG[:-1], "mixed": LOG.replace("0\n", "0\r\n")}.items():
            with self.subTest(name):
                self.assertSameAnswer(log)
        for codec in ("utf-16", "utf-16-be", "utf-16-le"):
            with self.subTest(codec):
                run = self.solve(("\ufeff" + LOG).encode(codec) if codec != "utf-16" else LOG.encode(codec))
                self.assertRefused(run, "steps.csv", "UTF-16", "UTF-8")

    def test_L3_one_dialect(self):
        self.assertSameAnswer(log_of(ROWS, separator=";"))
        self.assertSameAnswer(log_of(ROWS, separator="\t"))
        self.assertSameAnswer(log_of([(n, t.replace(".", ",")) for n, t in ROWS], separator=";"))
        for row in ("step-09.wav,1,5\n", "step-09.wav,1;5\n", "step-09.wav\t1\n", 'step-09.wav,"1,5,0"\n'):
            with self.subTest(row):
                self.assertCostsOneStep(LOG + row, "steps.csv:6: ")
        self.assertCostsOneStep(LOG + "step-09.wav;1,5\n", "step-09.wav;1: ")  # read as a capture at 5 degrees, which does not exist

    def test_L3_logs_as_people_keep_them(self):
        """Capitals, minus and degree signs, quoted decimal commas, cleared rows and separators at the ends of lines change nothing."""
        for name, log in {
                "capitals": log_of(ROWS, head=("Capture", " TILT_DEG ")),
                "minus": LOG.replace("-1.5", "\u22121.5"), "en dash": LOG.replace("-1.5", "\u20131.5"),
                "degrees": log_of([(n, t + "°") for n, t in ROWS]), "degrees after a blank": log_of([(n, t + " °") for n, t in ROWS]),
                "quoted commas": log_of([(n, '"' + t.replace(".", ",") + '"') for n, t in ROWS]),
                "tabs and commas": log_of([(n, t.replace(".", ",")) for n, t in ROWS], separator="\t"),
                "cleared rows": LOG.replace("step-03", ",\n\n , \nstep-03") + ",,,\n", "separators": LOG.replace("\n", ",,\n"),
                "separators only in the header": LOG.replace("tilt_deg", "tilt_deg,,,"),
        }.items():
            with self.subTest(name):
                self.assertSameAnswer(log)

    def test_L4_locale(self):
        expected = evenwall("solve", "--json", self.session).out
        self.assertIn("recommended", expected)
        for locale in ("de_DE.UTF-8", "C", "POSIX", "tr_TR.UTF-8", "nonsense"):
            run = evenwall("solve", "--json", self.session, env={"LC_ALL": locale, "LANG": locale, "LC_NUMERIC": locale})
            self.assertEqual((0, expected), (run.status, run.out), run.err)

    def test_L5_cells_that_are_not_numbers(self):
        for cell in ("nan", "inf", "-inf", "NaN", "infinity", "1e999", "-1e999", "0x10", "0x1p3", "++1.5", "+-1", "1.5deg", "１．５", "1.5.2",
                     "1e", "--1", "1_000", "1 5", "°", "1.5\u00a0"):
            with self.subTest(cell):
                self.assertCostsOneStep(LOG + f"step-09.wav,{cell}\n", "steps.csv:6: column tilt_deg")
        rows = [(name, "+" + tilt if tilt[0] != "-" else tilt) for name, tilt in ROWS]
        self.assertSameAnswer(log_of(rows))  # people write numbers with a plus sign, too

    def test_L6_columns(self):
        self.assertRefused(self.solve("tilt_deg\n1\n"), "capture")
        turn = self.assertAnswered(self.solve("capture\n" + "".join(name + "\n" for name, _ in ROWS)))  # no tilts: the turn from the last recording
        self.assertEqual("step-04.wav", turn["recommended"]["from_capture"])
        self.assertRefused(self.solve("capture,tilt_deg,tilt_deg\nstep-01.wav,1,2\n"), "twice")
        self.assertSameAnswer(log_of([(t, n, "any") for n, t in ROWS], head=("tilt_deg", "capture", "moon")), "unknown_key")
        for ragged in ("step-09.wav\n", "step-09.wav,1,2\n", "step-09.wav,1,2,3,4,5\n"):
            with self.subTest(ragged):
                self.assertCostsOneStep(LOG + ragged, "steps.csv:6: .*fields")

    def test_L7_quotes(self):
        self.assertSameAnswer('"capture","tilt_deg","note"\n' + "".join(f'"{n}","{t}","a ""b"", c\nd\n"\n' for n, t in ROWS))
        self.assertRefused(self.solve(LOG + 'step-09.wav,"1\n'), "steps.csv", "line 6", "never closed")
        self.assertCostsOneStep(LOG + 'st"ep-09.wav,1\n', "steps.csv:6: .*quote")

    def test_L8_order_does_not_matter(self):
        for order in ((3, 2, 1, 0), (2, 0, 3, 1)):
            document = self.assertAnswered(self.solve(log_of([ROWS[i] for i in order])))
            for key in ("recommended", "least_crosstalk", "equal_crosstalk", "phase_match", "curves", "uncertainty", "by_frequency"):
                with self.subTest(order=order, key=key):
                    self.assertEqual(json.dumps(self.solve(LOG).json()[key]), json.dumps(document[key]))

    def test_L9_duplicates(self):
        folder = self.broken_session(LOG + "again.wav,0\n")
        (folder / "again.wav").write_bytes(self.good[:-4000])
        document = self.assertAnswered(evenwall("solve", "--json", folder))
        self.assertEqual(5, len(document["steps"]))
        self.assertSameAnswer(LOG + "step-04.wav,2\n", "duplicate_row")

    def test_L10_units(self):
        self.assertRefused(self.solve("capture,tilt\nstep-01.wav,1\n"), "tilt_deg", "tilt_units")
        for factor, guess in ((60, "arc-minutes"), (0.0174533, "radians")):
            document = self.assertAnswered(self.solve(log_of([(n, str(float(t) * factor)) for n, t in ROWS])), "unit_suspect")
            self.assertTrue(any(guess in w["message"] for w in document["warnings"]))

    def test_L11_range(self):
        same = self.assertAnswered(self.solve(log_of([(n, "0.5") for n, _ in ROWS])))
        self.assertGreater(same["least_crosstalk"]["u_deg"], self.expected["least_crosstalk"]["u_deg"])
        self.assertAnswered(self.solve(log_of([(n, str(float(t) + 4)) for n, t in ROWS[:2]])), "extrapolated")

    def test_L12_outlier(self):
        for tilt in ("1e6", "-1e6", "9", "1e300", "1e-300"):
            with self.subTest(tilt):
                run = self.solve(log_of([*ROWS[:3], ("step-04.wav", tilt)]))
                self.assertIn(run.status, (0, 1))
                if run.status == 0:
                    self.assertNotEqual([], self.assertAnswered(run)["warnings"])
                else:
                    self.assertRegex(run.err, r"\Aevenwall: [^\n]+\n\Z")

    def test_L12_crosstalk_that_contradicts_the_other_steps(self):
        """One step has crosstalk that no azimuth can cause: with four steps it is named and excluded, with three only that session is refused."""
        readings = [evenwall("measure", "--json", name, "--tilt-deg", tilt).json() for name, tilt in zip(self.captures, ("-1.5", "0", "1", "2"))]
        good = self.put("good.jsonl", "\n".join(map(json.dumps, readings)))
        without = self.put("without.jsonl", "\n".join(map(json.dumps, readings[:1] + readings[2:])))
        expected_deg = evenwall("solve", "--json", "--quiet", without).json()["least_crosstalk"]["tilt_deg"]
        for side in ("right_into_left", "left_into_right"):
            for size in (0.05, 0.1, 0.3, 1, 100):
                for part in ("re", "im"):
                    for sign in (1, -1):
                        with self.subTest(side=side, size=size, part=part, sign=sign):
                            odd = json.loads(json.dumps(readings))
                            for pair in (odd[1]["crosstalk"], odd[1]["crosstalk_spectrum"][0]):
                                pair[side]["same_passage"][part] = sign * size
                            document = self.assertAnswered(evenwall("solve", "--json", self.put("odd.jsonl", "\n".join(map(json.dumps, odd)))), "leaks_off")
                            self.assertEqual([odd[1]["capture"]], [s["capture"] for s in document["steps"] if "leaks_off" in s["flags"]])
                            self.assertAlmostEqual(expected_deg, document["least_crosstalk"]["tilt_deg"], delta=1e-9)
                            three = self.put("three.jsonl", "\n".join(map(json.dumps, odd[:3])))
                            run = evenwall("solve", "--json", "--quiet", three, good)
                            self.assertEqual(1, run.status)
                            self.assertEqual(1, len(run.out.splitlines()), run.err)
                            self.assertRegex(run.err, r"\Aevenwall: \S*three.jsonl: [^\n]*one more tilt[^\n]*\n\Z")

    def test_L12_tilts_too_small_to_square(self):
        readings = [evenwall("measure", "--json", name, "--tilt-deg", tilt).json() for name, tilt in zip(self.captures, ("-1.5", "0", "1", "2"))]
        for key in ("tilt_deg", "tilt_units"):
            for size in (1e-160, 1e-200, 1e-300):
                with self.subTest(key=key, size=size):
                    small = [{**r, "tilt_deg": None, key: size * r["tilt_deg"]} for r in readings]
                    run = evenwall("solve", "--json", "--quiet", "-", stdin="\n".join(map(json.dumps, small)).encode())
                    self.assertIn(run.status, (0, 1))
                    self.assertNotIn("fault of this program", run.err)

    def test_L12_impossible_numbers(self):
        """The message names line and column, and only that step is excluded."""
        row = "-1,-29.8,-35,0.6,0.1\n0,-33,-38.5,0.6,0.1\n1,-33.5,-34,0.6,0.1\n"
        for bad in ("-2,-27.1,-31.4,-7000,0.1", "-2,-27.1,-31.4,1e308,0.1", "-2,-27.1,-31.4,0.6,1e308"):
            with self.subTest(bad):
                meter = self.put("meter.csv", "tilt_deg,right_into_left_db,left_into_right_db,balance_db,u_db\n" + bad + "\n" + row)
                document = self.assertAnswered(evenwall("solve", "--json", meter), "step_unreadable")
                self.assertEqual(3, len(document["steps"]))
        head = ("capture", "tilt_deg", "sequence")
        rows = [*((n, t, "") for n, t in ROWS), ("step-01.wav", "0.5", "1e308")]
        self.assertCostsOneStep(log_of(rows, head=head),  r"csv:6: sequence is 1e\+308")

    def test_L13_names(self):
        secret = self.put("secret.txt", "root:secret-word\n")
        os.symlink(secret, self.folder / "link.wav")
        for name, pattern in (("missing.wav", "missing.wav"), ("-", "-: the file cannot be opened: No such file"), ("/nonexistent/x.wav", "nonexistent"), ("../../../x.wav", "x.wav"),
                              (str(secret), "secret.txt"), (str(self.folder / "link.wav"), "link.wav"), (".", "folder"), ("/dev/zero", "device")):
            with self.subTest(name):
                run = self.solve(LOG + f"{name},0.5\n")
                document = self.assertAnswered(run, "step_unreadable")
                told = [w["message"] for w in document["warnings"] if w["code"] == "step_unreadable"]
                self.assertRegex(told[0], pattern)
                self.assertNotIn("secret-word", run.out + run.err)
        away = self.broken_session(log_of([(str(self.session / n), t) for n, t in ROWS]))
        self.assertEqual(self.expected["least_crosstalk"], self.assertAnswered(evenwall("solve", "--json", away))["least_crosstalk"])

    def test_L14_stretches(self):
        head = ("capture", "tilt_deg", "from_s", "to_s")
        rows = [(n, t, "", "") for n, t in ROWS]
        for row, pattern in ((("step-01.wav", "1", "", ""), "in use by line 2"), (("step-09.wav", "1", "5", "2"), "to_s"),
                             (("step-09.wav", "1", "2", "2"), "to_s"), (("step-09.wav", "1", "-1", ""), "from_s is -1"),
                             (("./step-02.wav", "1", "3", "8"), "in use by line 3")):
            with self.subTest(row):
                self.assertCostsOneStep(log_of([*rows, row], head=head), r"csv:6: .*" + pattern)
        beyond = [*rows[:3], ("step-04.wav", "2", "0", "9"), ("step-04.wav", "2.5", "1000", "2000")]
        document = self.assertAnswered(self.solve(log_of(beyond, head=head)), "step_unreadable")
        self.assertEqual(4, len(document["steps"]))

    def test_L14_stretches_beyond_the_end(self):
        """A stretch with an end beyond the capture ends with the capture; a stretch that begins beyond the capture is empty."""
        head = ("capture", "tilt_deg", "from_s", "to_s")
        plain = self.answer(log_of([(n, t, "", "") for n, t in ROWS], head=head))
        for end in ("1e7", "1e6", "1000"):
            with self.subTest(end):
                run = self.solve(log_of([(n, t, "0", end) for n, t in ROWS], head=head))
                self.assertEqual(plain["least_crosstalk"], self.assertAnswered(run)["least_crosstalk"])
        rows = [(n, t, "", "") for n, t in ROWS]
        for begin in ("1e6", "1e7", "1e20", "1e300"):
            with self.subTest(begin):
                self.assertAnswered(self.solve(log_of([*rows, ("step-04.wav", "2.5", begin, "")], head=head)), "step_unreadable")

    def test_L15_a_log_that_is_too_long(self):
        folder = self.broken_session("")
        with open(folder / "steps.csv", "wb") as log:
            log.truncate(2**30)
        self.assertRefused(evenwall("solve", folder, watch=folder), "steps.csv")
        for name, content in {"line": LOG + "x" * 10_000_000, "rows": LOG + "a,1\n" * 100_001, "many": LOG + "a,1\n" * 10_000_000,
                              "quote": LOG + '"' + "a\n" * 70_000, "columns": "capture,tilt_deg" + ",x" * 40_000 + "\n"}.items():
            with self.subTest(name):
                self.assertRefused(self.solve(content), "steps.csv")
        for content in (b"capture,tilt_deg\nstep\0-01.wav,1\n", b"cap\0ture,tilt_deg\nx,1\n", b"\0" * 100):
            with self.subTest(content):
                run = self.solve(content)
                self.assertEqual((1, "", []), (run.status, run.out, run.changed))
                self.assertRegex(run.err, r"\A(evenwall: [^\n]*steps.csv[^\n]+\n)+\Z")

    def test_L16_mixed_signs(self):
        mixed = [(n, t.lstrip("-")) for n, t in ROWS]
        document = self.assertAnswered(self.solve(log_of(mixed)))
        codes = {w["code"] for w in document["warnings"]}
        self.assertTrue(codes & {"step_off", "steps_contradict", "scale_off"}, codes)
        reversed_log = self.assertAnswered(self.solve(log_of([(n, str(-float(t))) for n, t in ROWS])))
        # Without a lateral band, a reversed log looks like reversed polarity of one channel, and a warning states that.
        self.assertNotEqual("as_logged", reversed_log["tilt_response"]["sense"])
        self.assertIn("swapped_or_reversed", [w["code"] for w in reversed_log["warnings"]])


if __name__ == "__main__":
    unittest.main()
