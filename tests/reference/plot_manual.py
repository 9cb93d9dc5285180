# SPDX-License-Identifier: GPL-3.0-or-later
"""Draws the manual's pictures: the charts of a solution page and of a survey page, as separate SVG files, from an invented session and
an invented archive; and the upper part of the solution page as page.png (by Chromium). Usage: plot_manual.py PROGRAM FOLDER"""
import json
import pathlib
import random
import re
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
CUTS = {"Even Furrow": 0.12, "Slow Meadow": -0.05, "Long Acre": -0.07}
WANTED = {"crosstalk", "plane", "response", "cartridges", "records", "distribution"}

# The page's colours (src/report/page_style.cpp), which a separate picture must contain itself.
STYLE = """<style>
svg{--paper:#fdfcf9;--ink:#1d1c1a;--faint:#68645c;--line:#d9d5cb;--first:#0072b2;--second:#d55e00;--third:#007a59;color:var(--ink);background:var(--paper)}
@media (prefers-color-scheme:dark){svg{--paper:#16181b;--ink:#ebe8e1;--faint:#a8a399;--line:#3b3e43;--first:#56b4e9;--second:#e69f00;--third:#2fc79a}}
svg text{font-family:"DejaVu Sans",Verdana,sans-serif}
</style>"""


def charts_of(page):
    """Returns {name: SVG document}."""
    found = {}
    for name, svg in re.findall(r'<figure id="chart-(\w+)">.*?(<svg .*?</svg>)', page, re.S):
        width, height = re.search(r'viewBox="0 0 (\d+) (\d+)"', svg).groups()
        head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{2 * int(width)}" height="{2 * int(height)}" '
        found[name] = svg.replace("<svg ", head, 1).replace("</desc>", f"</desc>\n{STYLE}", 1) + "\n"
    return found


def write_archive(path):
    draw = random.Random(12)
    with path.open("w") as file:
        for i in range(24):
            tilt = 0.2 + draw.gauss(0, 0.35)
            for k in range(2):
                record = list(CUTS)[(i + k) % len(CUTS)]
                session = {"cartridge": f"Larkspur no. {i + 1}", "record": record, "record_side": "A", "date": f"{2016 + (5 * i + k) % 9}-0{1 + k}-11"}
                found = tilt + CUTS[record] + draw.gauss(0, 0.03)
                file.write(json.dumps({"schema": "evenwall/solution/1", "session": session, "least_crosstalk": {"tilt_deg": found, "u_deg": None}}) + "\n")


def draw(program, folder):
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        run = lambda *words: subprocess.run([program, *map(str, words)], check=True, stdout=subprocess.DEVNULL)
        run("simulate", "--scenario", ROOT / "data/demo/scenario.json", "--seed", 7, "-o", scratch / "session")
        run("solve", scratch / "session", "--json", "--quiet", "-o", scratch / "solution.json")
        write_archive(scratch / "archive.jsonl")
        run("survey", scratch / "archive.jsonl", "--quiet", "-o", scratch / "survey.json")
        drawn = {}
        for name in ("solution", "survey"):
            run("report", scratch / f"{name}.json", "--strict", "-o", scratch / f"{name}.html")
            drawn.update(charts_of((scratch / f"{name}.html").read_text()))
        subprocess.run(["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--window-size=1000,1500",
                        f"--screenshot={scratch / 'page.png'}", (scratch / "solution.html").as_uri()], check=True, stderr=subprocess.DEVNULL)
        picture = (scratch / "page.png").read_bytes()
    missing = WANTED - set(drawn)
    if missing:
        sys.exit(f"no chart was drawn of: {', '.join(sorted(missing))}")
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "page.png").write_bytes(picture)
    for name in WANTED:
        (folder / f"{name}.svg").write_text(drawn[name])


if __name__ == "__main__":
    draw(sys.argv[1], pathlib.Path(sys.argv[2]))
