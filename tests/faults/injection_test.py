# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests rows I of docs/reliability.md: names and tags that contain markup, commands or control characters."""
import csv
import html.parser
import io
import json
import os
import shutil
import unittest

import containers as c
from bench import FaultCase, evenwall

ODD_NAMES = [b"new\nline.wav", b"-leading.wav", b"--help.wav", b"\xff\xfe\xe9.wav", b"with space.wav", b"x" * 251 + b".wav", b"quo'te\".wav",
             b"%n%s%d%x.wav", b"$(touch pwned).wav", b"`touch pwned`.wav", b"<script>alert(1)<&script>.wav", b"\x1b[31mred\x07.wav",
             "\u202egnp.wav".encode(), "\u2066x\u2069.wav".encode(), b"=1+1.wav", b"{}{0}.wav", b"tab\there.wav", b"\r\x1b[2K.wav", b"a;b|c&d.wav"]
ACTS = ("</title><script>parent.acted=1</script>", "'\"><img src=x onerror=acted=1>", "&lt;b&amp;", "</script><!--", "'; system 'touch acted' #",
        "`touch acted`", "$(touch acted)", "\"; set output 'acted'; #", "EOD\nset output 'acted'\nplot '< touch acted'\n", "@acted", "{/=99 acted}")
DANGEROUS = ("\x1b", "\x07", "\r", "\u202e", "\u2066", "\u200b")


class Tags(html.parser.HTMLParser):
    """Collects every tag with its attributes, and the text between tags."""

    def __init__(self, page):
        super().__init__()
        self.tags, self.text = [], ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))

    def handle_data(self, data):
        self.text += data


class Injection(FaultCase):
    """Tests names of files and people in every output that shows them."""

    def page_with(self, evil):
        """Returns (page, input of gnuplot) of a session with this text in the text fields of its documents."""
        facts = {"cartridge": evil, "record": evil, "record_side": evil, "rig": evil, "operator": evil, "bands": ["left", "right"]}
        solved = evenwall("solve", "--json", self.broken_session(None, json.dumps(facts)))
        self.assertEqual(0, solved.status, solved.err)
        document = solved.json()
        self.assertEqual(evil, document["session"]["operator"])
        document["recommended"]["why"] = evil
        document["steps"][0]["capture"] = evil
        document["warnings"] = [{"code": evil, "message": evil}]
        document["uncertainty"][0]["source"] = evil
        self.put("evil.json", json.dumps(document))
        tools = self.folder / "tools"
        if not tools.exists():
            tools.mkdir()
            gnuplot = shutil.which("gnuplot")
            self.assertTrue(gnuplot, "gnuplot is needed: apt-get install gnuplot-nox")
            (tools / "gnuplot").write_text(f'#!/bin/sh\ntee -a {self.folder}/script | {gnuplot} "$@"\n')
            (tools / "gnuplot").chmod(0o755)
        self.put("script", "")
        run = evenwall("report", "evil.json", cwd=self.folder, env={"PATH": f"{tools}:{os.environ['PATH']}"})
        self.assertEqual((0, ""), (run.status, run.err))
        self.assertEqual(7, run.out.count("<figure"), "the page must have its charts")
        return run.out, (self.folder / "script").read_text()

    def named(self, name):
        name = name if isinstance(name, bytes) else name.encode()
        path = bytes(self.folder) + b"/" + name
        with open(path, "wb") as file:
            file.write(self.good)
        return path

    def test_I1_markup_in_html(self):
        plain = [tag for tag, _ in Tags(self.page_with("Larkspur")[0]).tags]
        for evil in ACTS:
            with self.subTest(evil):
                page = Tags(self.page_with(evil)[0])
                self.assertEqual(plain, [tag for tag, _ in page.tags], "the page must have the same tags")
                self.assertIn(evil.splitlines()[0], page.text)
                names = {name for _, attributes in page.tags for name in attributes}
                self.assertFalse({n for n in names if n.startswith("on")} | names & {"src", "srcset", "action", "formaction", "ping"}, names)
                policy = [a["content"] for tag, a in page.tags if tag == "meta" and a.get("http-equiv") == "Content-Security-Policy"]
                self.assertEqual(1, len(policy))
                self.assertRegex(policy[0], r"default-src 'none'")
                for _, attributes in page.tags:
                    for name in ("href", "xlink:href"):
                        self.assertRegex(attributes.get(name) or "#", r"\A#", "a link must stay within the page")

    def test_I2_markup_in_json_in_html(self):
        """The page holds no script, neither JSON nor code, so no text can close a script element."""
        for evil in ACTS:
            with self.subTest(evil):
                page = self.page_with(evil)[0].lower()
                self.assertNotIn("<script", page)
                self.assertNotIn("</script", page)
                self.assertNotIn("<!--", page)

    def test_I4_chart_engine(self):
        plain = self.page_with("Larkspur")[1]
        self.assertGreater(plain.count("plot "), 4, "the script must reach gnuplot")
        for evil in ACTS:
            with self.subTest(evil):
                self.assertEqual(plain, self.page_with(evil)[1], "the script must contain only numbers and fixed words")
                self.assertEqual([], list(self.folder.rglob("acted*")))

    def test_I3_formulas_in_csv(self):
        names = ["=1+1.wav", "+x.wav", "-x.wav", "@x.wav", "\tx.wav", "\rx.wav", '=HYPERLINK("http:x")', "a,b.wav", 'q"uote.wav']
        fitted = "".join(f"{name.name},{tilt},yes\n" for name, tilt in zip(self.captures, ("-1.5", "0", "1", "2")))
        odd = "".join(f'"{n.replace(chr(34), chr(34) * 2)}",0,no\n' for n in names if "\r" not in n)
        folder = self.broken_session("capture,tilt_deg,use\n" + fitted + odd)
        for name in names:
            if "\r" not in name:
                (folder / name.replace("/", "_")).write_bytes(self.captures[1].read_bytes())
        run = evenwall("solve", "--steps-csv", folder)
        self.assertEqual(0, run.status, run.err)
        rows = list(csv.DictReader(io.StringIO(run.out)))
        self.assertGreater(len(rows), 5)
        for row in rows:
            for key, cell in row.items():
                if key in ("capture", "flags", "used"):
                    self.assertNotIn(cell[:1] or "x", "=+-@\t\r", row)
                elif cell:
                    float(cell)  # numbers stay numbers, also with a minus sign
        for name in (n for n in names if n.isprintable()):  # the cell of a cartridge's name
            run = evenwall("solve", "--csv", self.broken_session(None, json.dumps({"cartridge": name, "bands": ["left", "right", "lateral"]})))
            self.assertEqual(0, run.status, run.err)
            row, = csv.DictReader(io.StringIO(run.out))
            self.assertEqual("'" + name if name[0] in "=+-@" else name, row["cartridge"])

    def test_I5_terminal(self):
        for name in ODD_NAMES:
            with self.subTest(name):
                path = self.named(name)
                for run in (evenwall("measure", path), evenwall("measure", path + b".none"), evenwall("measure", "--tilt-deg", "1", path)):
                    for mark in DANGEROUS:
                        self.assertNotIn(mark, run.out + run.err)
        folder = self.broken_session(None, json.dumps({"cartridge": "\x1b[2J\u202eevil\r", "record": "\x9b31m", "operator": "\u2028", "bands": ["left", "right"]}))
        for view in ([], ["--full"], ["--table"]):
            run = evenwall("solve", folder, *view)
            self.assertEqual(0, run.status, run.err)
            for mark in (*DANGEROUS, "\x9b"):
                self.assertNotIn(mark, run.out + run.err)
        tags = c.wav(self.samples, before=c.chunk(b"LIST", b"INFO" + c.chunk(b"INAM", b"\x1b[31m<script>=1\xff")))
        run = self.measure(tags)
        self.assertAnswered(run)
        self.assertNotIn("script", self.old.read_text())

    def test_I6_unusual_file_names(self):
        for name in ODD_NAMES:
            with self.subTest(name):
                path = self.named(name)
                run = evenwall("measure", "--json", "--", path)
                self.assertEqual(0, run.status, run.err)
                shown = json.loads(run.raw.decode("utf-8"))["capture"]
                self.assertEqual(path.decode("utf-8", "replace"), shown)
        relative = evenwall("measure", "--json", "--", "-leading.wav", cwd=self.folder)
        self.assertEqual("-leading.wav", relative.json()["capture"])
        output = bytes(self.folder) + b"/out\n\xff -x.json"
        self.assertEqual(0, evenwall("measure", "--json", self.capture, "-o", output).status)
        with open(output) as written:
            json.load(written)
        longest = self.folder / ("y" * 255)  # its temporary file has a name of 255 bytes too
        self.assertEqual(0, evenwall("measure", "--json", self.capture, "-o", longest).status)

    def test_I6_exact_bytes_of_a_name(self):
        path = self.named(b"\xff\xe9.wav")
        document = json.loads(evenwall("measure", "--json", path).raw.decode("utf-8"))
        self.assertNotIn("capture_hex", evenwall("measure", "--json", self.capture).json())
        self.assertEqual(path, bytes.fromhex(document["capture_hex"]))

    def test_I7_format_strings(self):
        for text in ("%n%s%p%999999d", "{}{0}{:>999999}", "%%", "{"):
            path = self.named(text.replace("/", "_") + ".wav")
            run = evenwall("measure", "--json", path)
            self.assertEqual(0, run.status, run.err)
            self.assertIn(text, run.out)
            facts = {"cartridge": text, "record": text, "bands": ["left", "right"]}
            session = self.broken_session(None, json.dumps(facts))
            for view in ([], ["--full"], ["--csv"]):
                run = evenwall("solve", session, *view)
                self.assertEqual(0, run.status, run.err)
                self.assertIn(text, run.out)
            missing = evenwall("measure", self.folder / text)
            self.assertIn(text, missing.err)


if __name__ == "__main__":
    unittest.main()
