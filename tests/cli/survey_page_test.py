# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests the page of a survey in a browser (wide, narrow, dark and printed), and that of a very large archive."""
import copy
import json
import pathlib
import random
import re
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
import page_case  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
CUTS = {"Even Furrow": 0.12, "Slow Meadow": -0.05, "Long Acre": -0.07}


def write_archive(path, cartridges, records, seed, bad=False):
    """Writes one solution per line: each cartridge on two of the records. Standard deviations: cartridges 0.4°, sessions 0.03°."""
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


class Page(page_case.PageCase):
    program, prefix = PROGRAM, "survey-"
    bare = ("workshop", "#cartridges tbody tr", 30)
    paper = {"workshop": (1, 3), "one_record": (1, 2), "large": (1, 4)}

    @classmethod
    def write_documents(cls, folder):
        for name, cartridges, records, bad in (("workshop", 30, CUTS, True), ("one_record", 9, {"Even Furrow": 0}, False),
                                               ("large", 2000, {f"Record {j}": 0.02 * (j % 7 - 3) for j in range(50)}, False)):
            write_archive(folder / f"{name}.jsonl", cartridges, records, 5, bad)
            cls.evenwall("survey", folder / f"{name}.jsonl", "--by", "cartridge_model", "--quiet", "-o", folder / f"{name}.json")
            yield name

    def test_each_archive_has_the_property_of_its_name(self):
        self.assertEqual(1, len(self.documents["workshop"]["bad_solutions"]))
        self.assertIn("one_record", [w["code"] for w in self.documents["one_record"]["warnings"]])
        self.assertEqual((2000, 50), (len(self.documents["large"]["cartridges"]), len(self.documents["large"]["records"])))

    def test_the_page_shows_the_answer_of_the_document(self):
        for name, document in self.documents.items():
            with self.subTest(name):
                self.show(name)
                self.assert_answer(document["mean_deg"], document["interval95_mean_deg"])

    def test_the_record_with_the_largest_cutting_azimuth_error_is_named(self):
        self.show("workshop")
        told = self.browser.value("document.getElementById('what-was-found').textContent")
        by_size = max(self.documents["workshop"]["records"], key=lambda r: abs(r["cut_error_deg"]))
        self.assertEqual("Even Furrow", by_size["record"])
        error = re.search(r"Even Furrow, side A is farthest from the records' mean: its cutting-azimuth error is ([+-][\d.]+)° \(u = ([\d.]+)°", told)
        self.assertAlmostEqual(by_size["cut_error_deg"], float(error[1]), delta=10 ** -len(error[1].split(".")[1]))
        self.assertIn("too high", told)
        self.assertRegex(told, "1 solution is contradicted by the others and is excluded")

    def test_every_chart_is_shown_with_a_description(self):
        for name, expected in (("workshop", ["cartridges", "records", "distribution"]), ("one_record", ["cartridges", "distribution"])):
            self.show(name)
            self.assertEqual(expected, self.figures())
            told = self.told_of_charts()
            self.assertTrue(all(word for words in told for word in words), told)

    def test_the_bar_of_each_row_is_at_its_tilt(self):
        """Checks each bar's mark in pixels against the scale from the first and the last mark: the chart must agree with the table."""
        self.show("workshop")
        rows = self.browser.value("[...document.querySelectorAll('#cartridges tbody tr')].map(r => [r.cells[0].textContent, r.cells[1].textContent])")
        self.assertEqual(30, len(rows))
        marks = self.browser.value("""[...document.querySelectorAll('#chart-cartridges use')].map(u => {
            const m = u.getCTM ? u.getCTM() : null; const b = u.getBoundingClientRect(); return [b.left + b.width / 2, b.top + b.height / 2]; })""")
        marks = sorted((m for m in marks), key=lambda m: m[1])[-30:]  # the marks of the key are above
        tilts = [float(re.match(r"[+-][\d.]+", tilt.replace("\u2212", "-"))[0]) for _, tilt in rows]
        self.assertEqual(sorted(tilts), tilts)
        # Two of the marks give the scale. The others must agree with it to a pixel.
        (x0, _), (x1, _) = marks[0], marks[-1]
        for tilt, (x, _) in zip(tilts, marks):
            self.assertAlmostEqual(x0 + (x1 - x0) * (tilt - tilts[0]) / (tilts[-1] - tilts[0]), x, delta=1.5)

    def test_a_large_archive_gives_a_small_page_that_states_what_it_does_not_show(self):
        self.assertLess((self.folder / "large.html").stat().st_size, 300_000)
        self.show("large")
        self.assertEqual(40, self.browser.value("document.querySelectorAll('#cartridges tbody tr').length"))
        self.assertEqual(["10 more record sides are not shown here. The JSON document and evenwall survey --csv have all of them.",
                          "1960 more cartridges are not shown here. The JSON document and evenwall survey --csv have all of them."],
                         self.browser.value("[...document.querySelectorAll('.left-out')].map(e => e.textContent)"))

    def test_texts_of_a_document_cannot_act(self):
        document = copy.deepcopy(self.documents["workshop"])
        evil = page_case.EVIL
        document["cartridges"][0]["name"] = evil
        document["records"][0]["name"] = "'; system 'touch acted' #"
        document["grouped_by"] = document["groups"][0]["name"] = evil
        document["bad_solutions"][0].update(solution=evil, cartridge="\u202e\x1b[2J", record="'\"&amp;")
        document["warnings"] = [{"code": evil, "message": "END_OF_DATA\nset output 'acted'\n" + evil}]
        document["drift"]["first_date"] = evil
        self.assert_cannot_act(document, "Survey of 30 cartridges", 3)


if __name__ == "__main__":
    unittest.main()
