"""The page of a survey as a browser shows it: wide, narrow, dark and printed; and of a very large archive.

Without gnuplot the page has no charts, which fails this test: it belongs to the build's packages. Set EVENWALL_PICTURES to a folder to
keep screenshots and PDFs."""
import copy
import json
import os
import pathlib
import random
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
CUTS = {"Even Furrow": 0.12, "Slow Meadow": -0.05, "Long Acre": -0.07}


def evenwall(*words):
    run = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True, timeout=300)
    assert run.returncode == 0, run.stderr
    return run.stdout


def write_archive(path, cartridges, records, seed, bad=False):
    """A solution a line: each cartridge on two of the records; cartridges spread by 0.4°, sessions stray by 0.03°."""
    draw = random.Random(seed)
    names = list(records)
    with path.open("w") as file:
        for i in range(cartridges):
            tilt = 0.2 + draw.gauss(0, 0.4)
            for k in range(2):
                record = names[(i + k) % len(names)]
                found = tilt + records[record] + draw.gauss(0, 0.03) + (1.5 if bad and (i, k) == (7, 1) else 0)
                session = {"cartridge": f"Larkspur No. {i:02d}", "record": record, "record_side": "A", "date": f"{2014 + i % 9}-0{1 + k}-11",
                           "cartridge_model": ("Larkspur Mk 2", "Thistle", "Bramble with a name so long that no column could ever hold it")[i % 3]}
                document = {"schema": "evenwall/solution/1", "session": session, "least_crosstalk": {"tilt_deg": found, "u_deg": 0.03},
                            "equal_crosstalk": {"tilt_deg": found + 0.02}}
                file.write(json.dumps(document) + "\n")


class Page(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        cls.browser = Browser()
        cls.addClassCleanup(cls.browser.close)
        cls.documents = {}
        for name, cartridges, records, bad in (("workshop", 30, CUTS, True), ("one_record", 9, {"Even Furrow": 0}, False),
                                               ("large", 2000, {f"Record {j}": 0.02 * (j % 7 - 3) for j in range(50)}, False)):
            write_archive(cls.folder / f"{name}.jsonl", cartridges, records, 5, bad)
            evenwall("survey", cls.folder / f"{name}.jsonl", "--by", "cartridge_model", "--quiet", "-o", cls.folder / f"{name}.json")
            cls.documents[name] = json.loads((cls.folder / f"{name}.json").read_text())
            evenwall("report", cls.folder / f"{name}.json", "-o", cls.folder / f"{name}.html")

    def show(self, name, width=1280, scheme="light"):
        self.browser.load(self.folder / f"{name}.html", width, scheme)
        if PICTURES:
            pathlib.Path(PICTURES).mkdir(parents=True, exist_ok=True)
            self.browser.screenshot(pathlib.Path(PICTURES) / f"survey-{name}-{width}-{scheme}.png")

    def test_the_archives_are_what_they_are_called(self):
        self.assertEqual(1, len(self.documents["workshop"]["bad_solutions"]))
        self.assertIn("one_record", [w["code"] for w in self.documents["one_record"]["warnings"]])
        self.assertEqual((2000, 50), (len(self.documents["large"]["cartridges"]), len(self.documents["large"]["records"])))

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

    def test_the_answer_is_the_documents(self):
        for name, document in self.documents.items():
            with self.subTest(name):
                self.show(name)
                told = self.browser.value("document.getElementById('answer').textContent")
                mean, low, high = (float(n) for n in re.findall(r"([+-][0-9.]+)", told))
                digits = 10 ** -len(re.search(r"\.(\d+)", told)[1])
                self.assertAlmostEqual(document["mean_deg"], mean, delta=digits)
                self.assertAlmostEqual(document["interval95_mean_deg"][0], low, delta=digits)
                self.assertAlmostEqual(document["interval95_mean_deg"][1], high, delta=digits)

    def test_the_record_that_is_off_is_named_with_its_error(self):
        self.show("workshop")
        told = self.browser.value("document.getElementById('what-was-found').textContent")
        by_size = max(self.documents["workshop"]["records"], key=lambda r: abs(r["cut_error_deg"]))
        self.assertEqual("Even Furrow", by_size["record"])
        error = re.search(r"Even Furrow, side A: its cut is off by ([+-][\d.]+) ± ([\d.]+)°", told)
        self.assertAlmostEqual(by_size["cut_error_deg"], float(error[1]), delta=10 ** -len(error[1].split(".")[1]))
        self.assertIn("too high", told)
        self.assertRegex(told, "1 solution is contradicted by the others and left out")

    def test_charts_are_there_and_tell_what_they_show(self):
        for name, expected in (("workshop", ["cartridges", "records", "distribution"]), ("one_record", ["cartridges", "distribution"])):
            self.show(name)
            self.assertEqual(expected, self.browser.value("[...document.querySelectorAll('figure')].map(f => f.id.slice(6))"))
            told = self.browser.value("""[...document.querySelectorAll('svg[role=img]')].map(s =>
                s.getAttribute('aria-labelledby').split(' ').map(i => document.getElementById(i).textContent.trim()))""")
            self.assertTrue(all(word for words in told for word in words), told)

    def test_each_row_of_the_table_has_its_bar_at_its_tilt(self):
        """A bar's mark in pixels, against the axis that its own tick labels span: the chart says what the table says."""
        self.show("workshop")
        rows = self.browser.value("[...document.querySelectorAll('#cartridges tbody tr')].map(r => [r.cells[0].textContent, r.cells[1].textContent])")
        self.assertEqual(30, len(rows))
        marks = self.browser.value("""[...document.querySelectorAll('#chart-cartridges use')].map(u => {
            const m = u.getCTM ? u.getCTM() : null; const b = u.getBoundingClientRect(); return [b.left + b.width / 2, b.top + b.height / 2]; })""")
        marks = sorted((m for m in marks), key=lambda m: m[1])[-30:]  # the key's own marks stand above
        tilts = [float(re.match(r"[+-][\d.]+", tilt.replace("\u2212", "-"))[0]) for _, tilt in rows]
        self.assertEqual(sorted(tilts), tilts)
        # Two of the marks give the scale; the others must fall in with it, to a pixel.
        (x0, _), (x1, _) = marks[0], marks[-1]
        for tilt, (x, _) in zip(tilts, marks):
            self.assertAlmostEqual(x0 + (x1 - x0) * (tilt - tilts[0]) / (tilts[-1] - tilts[0]), x, delta=1.5)

    def test_a_large_archive_gives_a_small_page_that_says_what_is_left_out(self):
        self.assertLess((self.folder / "large.html").stat().st_size, 300_000)
        self.show("large")
        self.assertEqual(40, self.browser.value("document.querySelectorAll('#cartridges tbody tr').length"))
        self.assertEqual(["10 more record sides are left out here: evenwall survey --csv, and the JSON document, have all.",
                          "1960 more cartridges are left out here: evenwall survey --csv, and the JSON document, have all."],
                         self.browser.value("[...document.querySelectorAll('.left-out')].map(e => e.textContent)"))

    def test_paper_is_a4(self):
        for name, most in (("workshop", 3), ("one_record", 2), ("large", 4)):
            with self.subTest(name):
                self.show(name)
                path = pathlib.Path(PICTURES or self.folder) / f"survey-{name}.pdf"
                self.browser.pdf(path)
                told = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
                self.assertLessEqual(int(re.search(r"(?m)^Pages: +(\d+)$", told)[1]), most)
                self.assertRegex(told, r"(?m)^Page size: .*\(A4\)$")
                if PICTURES:
                    subprocess.run(["pdftoppm", "-r", "90", "-png", path, path.with_suffix("")], check=True)

    def test_what_a_document_says_cannot_act(self):
        document = copy.deepcopy(self.documents["workshop"])
        evil = "</title><script>document.title='acted'</script><img src=x onerror=\"document.title='acted'\">"
        document["cartridges"][0]["name"] = evil
        document["records"][0]["name"] = "'; system 'touch acted' #"
        document["grouped_by"] = document["groups"][0]["name"] = evil
        document["bad_solutions"][0].update(solution=evil, cartridge="\u202e\x1b[2J", record="'\"&amp;")
        document["warnings"] = [{"code": evil, "message": "END_OF_DATA\nset output 'acted'\n" + evil}]
        document["drift"]["first_date"] = evil
        (self.folder / "evil.json").write_text(json.dumps(document))
        subprocess.run([PROGRAM, "report", "evil.json", "-o", "evil.html"], cwd=self.folder, check=True)
        self.show("evil")
        self.assertEqual([], self.browser.complaints())
        self.assertEqual(0, self.browser.value("document.querySelectorAll('script, img').length"))
        self.assertEqual("Survey of 30 cartridges", self.browser.value("document.title"))
        self.assertEqual([], list(self.folder.glob("acted*")))
        self.assertEqual(3, self.browser.value("document.querySelectorAll('figure').length"))

    def test_without_gnuplot_the_page_says_so_and_keeps_the_tables(self):
        run = subprocess.run([PROGRAM, "report", self.folder / "workshop.json"], env={"PATH": "/nonexistent"}, capture_output=True, text=True)
        self.assertEqual(0, run.returncode)
        self.assertRegex(run.stderr, r"\Aevenwall: charts are missing .*gnuplot.*\n\Z")
        (self.folder / "bare.html").write_text(run.stdout)
        self.show("bare")
        self.assertEqual(0, self.browser.value("document.querySelectorAll('figure').length"))
        self.assertIn("gnuplot", self.browser.value("document.getElementById('no-charts').textContent"))
        self.assertEqual(30, self.browser.value("document.querySelectorAll('#cartridges tbody tr').length"))

    def test_same_document_same_bytes(self):
        self.assertEqual((self.folder / "workshop.html").read_text(), evenwall("report", self.folder / "workshop.json"))


if __name__ == "__main__":
    unittest.main()
