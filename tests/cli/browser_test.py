# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests the page of `report` in a browser (wide and narrow, light and dark) and on paper."""
import copy
import os
import pathlib
import re
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
import page_case  # noqa: E402
from simulated_session import short_demo, simulated  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())


def variant(session, name, log):
    """Makes a session with the same captures and another log."""
    other = session.parent / name
    other.mkdir()
    for path in session.iterdir():
        if path.name != "steps.csv":
            os.link(path, other / path.name)
    (other / "steps.csv").write_text(log)
    return other


def make_sessions(folder):
    bench = simulated(PROGRAM, folder / "bench", short_demo(), 7)
    alike = short_demo()
    alike["record"].update(cut_error_left_deg=0, cut_error_right_deg=0)
    alike["cartridge"].update(generator_error_left_deg=-0.7, generator_error_right_deg=-0.7,
                              coupling_right_into_left={"re": 0.01, "im": 0.004}, coupling_left_into_right={"re": -0.01, "im": -0.004})
    sweep = short_demo()
    for band in sweep["record"]["bands"]:
        if band["band"] in ("left", "right"):
            band.update(signal="log_sweep", frequency_hz=200, frequency_to_hz=8000, duration_s=12)
    log = (bench / "steps.csv").read_text()
    rows = [f"step-0{i + 1}.wav" for i in range(5)]
    return {
        "bench": bench,
        "wrong_step": variant(bench, "wrong_step", log.replace("step-04.wav,1,", "step-04.wav,1.6,")),
        "own_ruler": variant(bench, "own_ruler", "capture,tilt_units\n" + "".join(f"{c},{4 * i - 8}\n" for i, c in enumerate(rows))),
        "counted_backwards": variant(bench, "counted_backwards", "capture,tilt_deg\n" + "".join(f"{c},{2 - i}\n" for i, c in enumerate(rows))),
        "one_step": variant(bench, "one_step", "capture,tilt_deg\nstep-03.wav,0\n"),
        "sweep": simulated(PROGRAM, folder / "sweep", sweep, 4),
        "equal_everywhere": simulated(PROGRAM, folder / "equal_everywhere", alike, 3),
    }


class Page(page_case.PageCase):
    program, prefix = PROGRAM, ""
    bare = ("bench", "#steps tr", 6)  # a header and five steps

    @classmethod
    def write_documents(cls, folder):
        sessions = make_sessions(folder)
        cls.paper = {name: (2, 3) for name in sessions}  # the letter has a sheet of its own
        for name, session in sessions.items():
            cls.evenwall("solve", session, "--json", "--quiet", "-o", folder / f"{name}.json")
        return sessions

    def test_each_session_has_the_property_of_its_name(self):
        flags = {s["capture"]: s["flags"] for s in self.documents["wrong_step"]["steps"]}
        self.assertEqual(["step_off"], flags["step-04.wav"])
        self.assertFalse(self.documents["equal_everywhere"]["equal_crosstalk"]["determined"])
        self.assertEqual("reversed", self.documents["counted_backwards"]["tilt_response"]["sense"])
        self.assertAlmostEqual(0.25, self.documents["own_ruler"]["tilt_response"]["degrees_per_unit"], delta=0.01)  # a gauge of 0.02° over 4° gives 0.005
        self.assertEqual(1, len(self.documents["one_step"]["steps"]))
        self.assertGreater(len(self.documents["sweep"]["by_frequency"]), 10)

    def test_the_page_shows_the_answer_of_the_document(self):
        for name, document in self.documents.items():
            with self.subTest(name):
                self.show(name)
                self.assert_answer(document["recommended"]["tilt_deg"], document["recommended"]["interval95_deg"])
                hand = self.browser.value("document.getElementById('what-to-do').textContent")
                now = document["now"]
                told = re.search(rf"Turn the cartridge {now['direction']} by ([\d.]+)° as seen from the front, from {re.escape(now['capture'])} ", hand)
                self.assertIsNotNone(told, hand)
                self.assertAlmostEqual(abs(now["turn_deg"]), float(told[1]), delta=0.0051)
                self.assertIn(f"Its height is {now['height_mm']:.2f} mm for screws 12.7 mm apart.", hand)

    def test_the_sections_are_in_the_stated_order(self):
        self.show("bench")
        self.assertEqual(["what-to-do", "before-and-after", "cautions", "not-correctable", "charts", "steps", "uncertainty", "warnings", "inputs"],
                         self.browser.value("[...document.querySelectorAll('section')].map(s => s.id)"))

    def test_every_chart_is_shown_with_a_description(self):
        self.show("bench")
        self.assertEqual(["plane", "crosstalk", "choices", "response", "phase", "balance", "distortion"], self.figures())
        told = self.told_of_charts()
        self.assertEqual(8, len(told))  # seven charts and the front view
        self.assertTrue(all(word for words in told for word in words), told)
        repeated = self.browser.value("[...document.querySelectorAll('[id]')].map(e => e.id).filter((id, i, all) => all.indexOf(id) != i)")
        self.assertEqual([], repeated)
        lost = self.browser.value("[...document.querySelectorAll('use')].filter(u => !document.getElementById(u.getAttribute('xlink:href').slice(1))).length")
        self.assertEqual(0, lost)
        self.show("sweep")
        self.assertEqual(["plane", "crosstalk", "choices", "response", "phase", "balance", "frequency-crosstalk", "frequency"], self.figures())

    def test_a_wrong_step_is_marked_in_the_chart_of_the_tilt_response(self):
        self.show("wrong_step")
        chart = "document.querySelector('#chart-response svg').textContent"
        self.assertIn("not as logged", self.browser.value(chart))
        self.assertIn("The step logged at +1.60° has the largest correction", self.browser.value(chart))
        self.show("bench")
        self.assertNotIn("not as logged", self.browser.value("[...document.querySelectorAll('#chart-response svg text')].map(t => t.textContent).join()"))

    def test_texts_of_a_document_cannot_act(self):
        document = copy.deepcopy(self.documents["bench"])
        evil = page_case.EVIL
        document["session"].update(cartridge=evil, operator="'\"&amp;", rig="\u202e\x1b[2J")
        document["recommended"]["why"] = evil
        document["steps"][0]["capture"] = "'; system 'touch acted' #"
        document["warnings"] = [{"code": evil, "message": "\n`touch acted`\n" + evil}]
        document["uncertainty"][0]["source"] = "END_OF_DATA\nset output 'acted'\n"
        self.assert_cannot_act(document, "Azimuth of " + evil, 7)


if __name__ == "__main__":
    unittest.main()
