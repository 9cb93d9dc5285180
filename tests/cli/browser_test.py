"""The page of `report` as people look at it: in a browser, wide and narrow, light and dark, and on paper.

EVENWALL_PICTURES=FOLDER keeps the screenshots and the PDF pages, to be looked at.
"""
import copy
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests/support"))
from browser import Browser  # noqa: E402
from page_looks import LAYOUT_FAULTS, UNTHEMED  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
PICTURES = os.environ.get("EVENWALL_PICTURES")

SCENARIO = json.loads((ROOT / "data/demo/scenario.json").read_text())
for band in SCENARIO["record"]["bands"]:
    band["duration_s"] = 0.5 if band["band"] is None else 3.8


def evenwall(*words):
    run = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True, timeout=300)
    assert run.returncode == 0, run.stderr
    return run.stdout


def session_of(folder, name, scenario, seed):
    (folder / f"{name}-scenario.json").write_text(json.dumps(scenario))
    evenwall("simulate", "--scenario", folder / f"{name}-scenario.json", "--seed", seed, "-o", folder / name)
    return folder / name


def variant(session, name, log):
    """The same captures under another log."""
    other = session.parent / name
    other.mkdir()
    for path in session.iterdir():
        if path.name != "steps.csv":
            os.link(path, other / path.name)
    (other / "steps.csv").write_text(log)
    return other


def make_sessions(folder):
    bench = session_of(folder, "bench", SCENARIO, 7)
    alike = copy.deepcopy(SCENARIO)
    alike["record"].update(cut_error_left_deg=0, cut_error_right_deg=0)
    alike["cartridge"].update(generator_error_left_deg=-0.7, generator_error_right_deg=-0.7,
                              coupling_right_into_left={"re": 0.01, "im": 0.004}, coupling_left_into_right={"re": -0.01, "im": -0.004})
    sweep = copy.deepcopy(SCENARIO)
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
        "sweep": session_of(folder, "sweep", sweep, 4),
        "equal_everywhere": session_of(folder, "equal_everywhere", alike, 3),
    }


class Page(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        cls.browser = Browser()
        cls.addClassCleanup(cls.browser.close)
        cls.documents = {}
        for name, session in make_sessions(cls.folder).items():
            evenwall("solve", session, "--json", "--quiet", "-o", cls.folder / f"{name}.json")
            cls.documents[name] = json.loads((cls.folder / f"{name}.json").read_text())
            evenwall("report", cls.folder / f"{name}.json", "-o", cls.folder / f"{name}.html")

    def show(self, name, width=1280, scheme="light"):
        self.browser.load(self.folder / f"{name}.html", width, scheme)
        if PICTURES:
            pathlib.Path(PICTURES).mkdir(parents=True, exist_ok=True)
            self.browser.screenshot(pathlib.Path(PICTURES) / f"{name}-{width}-{scheme}.png")

    def test_the_sessions_are_what_they_are_called(self):
        flags = {s["capture"]: s["flags"] for s in self.documents["wrong_step"]["steps"]}
        self.assertEqual(["step_off"], flags["step-04.wav"])
        self.assertFalse(self.documents["equal_everywhere"]["equal_crosstalk"]["determined"])
        self.assertEqual("reversed", self.documents["counted_backwards"]["tilt_response"]["sense"])
        self.assertAlmostEqual(0.25, self.documents["own_ruler"]["tilt_response"]["degrees_per_unit"], delta=0.01)  # gauge of 0.02° over 4°: 0.005
        self.assertEqual(1, len(self.documents["one_step"]["steps"]))
        self.assertGreater(len(self.documents["sweep"]["by_frequency"]), 10)

    def test_every_page_is_sound_at_every_width_in_both_schemes(self):
        for name in self.documents:
            for width in (1280, 390):
                for scheme in ("light", "dark"):
                    with self.subTest(name, width=width, scheme=scheme):
                        self.show(name, width, scheme)
                        self.assertEqual([], self.browser.complaints())
                        self.assertEqual([(self.folder / f"{name}.html").as_uri()], self.browser.requests())
                        self.assertEqual([], self.browser.value(LAYOUT_FAULTS))
                        self.assertEqual([], self.browser.value(UNTHEMED))
                        self.assertLessEqual(self.browser.value("document.scrollingElement.scrollWidth"), width)
                        paper = self.browser.value("getComputedStyle(document.body).backgroundColor")
                        self.assertEqual(scheme == "dark", int(re.findall(r"\d+", paper)[0]) < 128)

    def test_the_answer_is_the_documents(self):
        for name, document in self.documents.items():
            with self.subTest(name):
                self.show(name)
                told = self.browser.value("document.getElementById('answer').textContent")
                tilt, low, high = (float(n) for n in re.findall(r"([+-][0-9.]+)", told))
                digits = 10 ** -len(re.search(r"\.(\d+)", told)[1])
                self.assertAlmostEqual(document["recommended"]["tilt_deg"], tilt, delta=digits)
                self.assertAlmostEqual(document["recommended"]["interval95_deg"][0], low, delta=digits)
                self.assertAlmostEqual(document["recommended"]["interval95_deg"][1], high, delta=digits)
                hand = self.browser.value("document.getElementById('what-to-do').textContent")
                clockwise = document["shim"]["raises"]
                if clockwise:
                    self.assertIn("Turn it clockwise" if clockwise == "spindle_side" else "Turn it anticlockwise", hand)
                    self.assertIn(f"{document['shim']['height_mm']:.2f} mm under the", hand)

    def test_the_sections_stand_in_the_readers_order(self):
        self.show("bench")
        self.assertEqual(["what-to-do", "before-and-after", "not-correctable", "charts", "steps", "uncertainty", "warnings", "cautions", "inputs"],
                         self.browser.value("[...document.querySelectorAll('section')].map(s => s.id)"))

    def test_charts_are_there_and_tell_what_they_show(self):
        self.show("bench")
        self.assertEqual(["crosstalk", "plane", "response", "phase", "balance", "distortion"],
                         self.browser.value("[...document.querySelectorAll('figure')].map(f => f.id.slice(6))"))
        told = self.browser.value("""[...document.querySelectorAll('svg[role=img]')].map(s =>
            s.getAttribute('aria-labelledby').split(' ').map(i => document.getElementById(i).textContent.trim()))""")
        self.assertEqual(7, len(told))  # six charts and the front view
        self.assertTrue(all(word for words in told for word in words), told)
        repeated = self.browser.value("[...document.querySelectorAll('[id]')].map(e => e.id).filter((id, i, all) => all.indexOf(id) != i)")
        self.assertEqual([], repeated)
        lost = self.browser.value("[...document.querySelectorAll('use')].filter(u => !document.getElementById(u.getAttribute('xlink:href').slice(1))).length")
        self.assertEqual(0, lost)
        self.show("sweep")
        self.assertEqual(["crosstalk", "plane", "response", "phase", "balance", "frequency-crosstalk", "frequency"],
                         self.browser.value("[...document.querySelectorAll('figure')].map(f => f.id.slice(6))"))

    def test_a_wrong_step_stands_out_in_the_response(self):
        self.show("wrong_step")
        chart = "document.querySelector('#chart-response svg').textContent"
        self.assertIn("not as logged", self.browser.value(chart))
        self.assertIn("The step farthest off is the one logged at +1.60°", self.browser.value(chart))
        self.show("bench")
        self.assertNotIn("not as logged", self.browser.value("[...document.querySelectorAll('#chart-response svg text')].map(t => t.textContent).join()"))

    def test_paper_takes_two_pages(self):
        for name in self.documents:
            with self.subTest(name):
                self.show(name)
                path = pathlib.Path(PICTURES or self.folder) / f"{name}.pdf"
                self.browser.pdf(path)
                told = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
                self.assertRegex(told, r"(?m)^Pages: +2$")
                self.assertRegex(told, r"(?m)^Page size: .*\(A4\)$")
                if PICTURES:
                    subprocess.run(["pdftoppm", "-r", "90", "-png", path, path.with_suffix("")], check=True)

    def test_what_a_document_says_cannot_act(self):
        document = copy.deepcopy(self.documents["bench"])
        evil = "</title><script>document.title='acted'</script><img src=x onerror=\"document.title='acted'\">"
        document["session"].update(cartridge=evil, operator="'\"&amp;", rig="\u202e\x1b[2J")
        document["recommended"]["why"] = evil
        document["steps"][0]["capture"] = "'; system 'touch acted' #"
        document["warnings"] = [{"code": evil, "message": "\n`touch acted`\n" + evil}]
        document["uncertainty"][0]["source"] = "END_OF_DATA\nset output 'acted'\n"
        (self.folder / "evil.json").write_text(json.dumps(document))
        subprocess.run([PROGRAM, "report", "evil.json", "-o", "evil.html"], cwd=self.folder, check=True)
        self.show("evil")
        self.assertEqual([], self.browser.complaints())
        self.assertEqual(0, self.browser.value("document.querySelectorAll('script, img').length"))
        self.assertEqual("Azimuth of " + evil, self.browser.value("document.title"))
        self.assertEqual([], list(self.folder.glob("acted*")))
        self.assertEqual(6, self.browser.value("document.querySelectorAll('figure').length"))

    def test_without_gnuplot_the_page_says_so_and_keeps_the_tables(self):
        run = subprocess.run([PROGRAM, "report", self.folder / "bench.json"], env={"PATH": "/nonexistent"}, capture_output=True, text=True)
        self.assertEqual(0, run.returncode)
        self.assertRegex(run.stderr, r"\Aevenwall: charts are missing .*gnuplot.*\n\Z")
        (self.folder / "bare.html").write_text(run.stdout)
        self.show("bare")
        self.assertEqual(0, self.browser.value("document.querySelectorAll('figure').length"))
        self.assertIn("gnuplot", self.browser.value("document.getElementById('no-charts').textContent"))
        self.assertEqual(6, self.browser.value("document.querySelectorAll('#steps tr').length"))

    def test_same_document_same_bytes(self):
        again = evenwall("report", self.folder / "bench.json")
        self.assertEqual((self.folder / "bench.html").read_text(), again)


if __name__ == "__main__":
    unittest.main()
