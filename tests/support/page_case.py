# SPDX-License-Identifier: GPL-3.0-or-later
"""Provides a base test case that checks every page of `report`, for any kind of document.

EVENWALL_PICTURES=FOLDER keeps the screenshots and the PDF pages for inspection.
"""
import json
import os
import pathlib
import re
import shutil
import subprocess
import tempfile
import unittest

from browser import Browser
from page_looks import LAYOUT_FAULTS, UNTHEMED

PICTURES = os.environ.get("EVENWALL_PICTURES")
EVIL = "</title><script>document.title='acted'</script><img src=x onerror=\"document.title='acted'\">"


class PageCase(unittest.TestCase):
    """A derived class sets `program`, `prefix` (of pictures), `paper` (least and greatest number of A4 pages, by document) and `bare` (the document that is
    tested without gnuplot, the selector of its rows, their number), and defines write_documents()."""

    @classmethod
    def write_documents(cls, folder):
        """Writes NAME.json for each document and returns their names."""
        raise NotImplementedError

    @classmethod
    def evenwall(cls, *words):
        run = subprocess.run([cls.program, *map(str, words)], capture_output=True, text=True, timeout=300)
        assert run.returncode == 0, run.stderr
        return run.stdout

    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        cls.browser = Browser()
        cls.addClassCleanup(cls.browser.close)
        cls.documents = {}
        for name in cls.write_documents(cls.folder):
            cls.documents[name] = json.loads((cls.folder / f"{name}.json").read_text())
            cls.evenwall("report", cls.folder / f"{name}.json", "-o", cls.folder / f"{name}.html")

    def show(self, name, width=1280, scheme="light"):
        self.browser.load(self.folder / f"{name}.html", width, scheme)
        if PICTURES:
            pathlib.Path(PICTURES).mkdir(parents=True, exist_ok=True)
            self.browser.screenshot(pathlib.Path(PICTURES) / f"{self.prefix}{name}-{width}-{scheme}.png")

    def figures(self):
        return self.browser.value("[...document.querySelectorAll('figure')].map(f => f.id.slice(6))")

    def told_of_charts(self):
        """The title and the description of each drawing."""
        return self.browser.value("""[...document.querySelectorAll('svg[role=img]')].map(s =>
            s.getAttribute('aria-labelledby').split(' ').map(i => document.getElementById(i).textContent.trim()))""")

    def assert_answer(self, value, interval):
        """Checks that the headline's signed numbers equal those of the document, to the digits shown."""
        told = self.browser.value("document.getElementById('answer').textContent")
        shown = [float(n) for n in re.findall(r"([+-][0-9.]+)", told)]
        digits = 10 ** -len(re.search(r"\.(\d+)", told)[1])
        for wanted, number in zip((value, *interval), shown, strict=True):
            self.assertAlmostEqual(wanted, number, delta=digits)

    def assert_cannot_act(self, document, title, figures):
        """Checks that a document full of markup and commands (`evil`) is shown and that nothing in it is executed."""
        (self.folder / "evil.json").write_text(json.dumps(document))
        subprocess.run([self.program, "report", "evil.json", "-o", "evil.html"], cwd=self.folder, check=True)
        self.show("evil")
        self.assertEqual([], self.browser.complaints())
        self.assertEqual(0, self.browser.value("document.querySelectorAll('script, img').length"))
        self.assertEqual(title, self.browser.value("document.title"))
        self.assertEqual([], list(self.folder.glob("acted*")))
        self.assertEqual(figures, len(self.figures()))

    # ------------------------------------------------------------ every page

    def test_no_page_has_a_layout_fault_at_any_width_in_both_schemes(self):
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

    def test_each_page_prints_on_few_sheets_of_a4(self):
        for name in self.documents:
            with self.subTest(name):
                self.show(name)
                path = pathlib.Path(PICTURES or self.folder) / f"{self.prefix}{name}.pdf"
                self.browser.pdf(path)
                told = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
                fewest, most = self.paper[name]
                self.assertIn(int(re.search(r"(?m)^Pages: +(\d+)$", told)[1]), range(fewest, most + 1))
                self.assertRegex(told, r"(?m)^Page size: .*\(A4\)$")
                if PICTURES:
                    subprocess.run(["pdftoppm", "-r", "90", "-png", path, path.with_suffix("")], check=True)

    def test_without_gnuplot_the_page_states_that_and_keeps_the_tables(self):
        name, selector, rows = self.bare
        run = subprocess.run([self.program, "report", self.folder / f"{name}.json"], env={"PATH": "/nonexistent"}, capture_output=True, text=True)
        self.assertEqual(0, run.returncode)
        self.assertRegex(run.stderr, r"\Aevenwall: charts are missing .*gnuplot.*\n\Z")
        (self.folder / "bare.html").write_text(run.stdout)
        self.show("bare")
        self.assertEqual([], self.figures())
        self.assertIn("gnuplot", self.browser.value("document.getElementById('no-charts').textContent"))
        self.assertEqual(rows, self.browser.value(f"document.querySelectorAll('{selector}').length"))

    def test_the_same_document_gives_the_same_bytes(self):
        for name in self.documents:
            self.assertEqual((self.folder / f"{name}.html").read_text(), self.evenwall("report", self.folder / f"{name}.json"))
