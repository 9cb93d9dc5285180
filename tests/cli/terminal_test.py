# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests the output on a terminal of 80 columns: no line is wider, colours appear only if wanted, a progress bar on terminals only."""
import fcntl
import json
import os
import pathlib
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import termios
import unittest
import unicodedata

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from simulated_session import short_demo, simulated  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
LONG = "a capture with a name that states its place, its date, its operator and the weather, step {}.wav"
WIDE = "音盤の左右の溝壁を調べるための長い名前の録音その{}.wav"


def columns(line):
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in line)


def on_terminal(words, which="both", **environment):
    """The exit status and the text on a terminal of 80 columns. `which` of the two streams goes there; the other one is discarded."""
    master, slave = os.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    streams = {"stdout": slave if which in ("stdout", "both") else subprocess.DEVNULL, "stderr": slave if which in ("stderr", "both") else subprocess.DEVNULL}
    clean = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "TERM")}
    run = subprocess.Popen([PROGRAM, *map(str, words)], stdin=subprocess.DEVNULL, env={**clean, "TERM": "xterm", **environment}, **streams)
    os.close(slave)
    shown = b""
    try:
        while block := os.read(master, 65536):
            shown += block
    except OSError:  # the other end is closed
        pass
    os.close(master)
    return run.wait(), shown.decode().replace("\r\n", "\n")


class Terminal(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        cls.session = simulated(PROGRAM, cls.folder / "session", short_demo(), 7)
        cls.sessions = [cls.session]
        for name, pattern in (("long", LONG), ("wide", WIDE)):
            session = cls.folder / name
            session.mkdir()
            rows = ["capture,tilt_deg,use"]
            for i in range(5):
                os.link(cls.session / f"step-0{i + 1}.wav", session / pattern.format(i + 1))
                rows.append(f"\"{pattern.format(i + 1)}\",{i - 2},{'verify' if i == 3 else 'yes'}")
            (session / "steps.csv").write_text("\n".join(rows) + "\n")
            facts = {key: pattern.format(0) * 3 for key in ("cartridge", "record", "rig", "operator")}
            (session / "session.json").write_text(json.dumps({**facts, "bands": ["left", "right", "lateral"], "gauge_u_deg": 0.02, pattern: 1}))
            cls.sessions.append(session)
        cls.archive = cls.folder / "archive.jsonl"
        with cls.archive.open("w") as file:
            for i in range(60):
                for k in range(2):
                    session = {"cartridge": (LONG if i % 2 else WIDE).format(i), "record": (LONG, WIDE, "T1")[(i + k) % 3], "date": f"20{10 + i % 9}", "model": WIDE}
                    file.write(json.dumps({"schema": "evenwall/solution/1", "session": session, "equal_crosstalk": {"tilt_deg": i / 50},
                                           "least_crosstalk": {"tilt_deg": i / 50 + 0.1 * ((i + k) % 3) + 0.01 * (i * 7 % 5), "u_deg": None}}) + "\n")

    def views(self):
        yield from (["solve", s, "--chart"] for s in self.sessions)
        yield ["solve", *self.sessions]
        yield ["solve", "--full", *self.sessions]
        yield ["solve", "--table", *self.sessions * 10]
        yield from (["measure", *sorted(s.glob("*.wav")), "--tilt-deg", "1", "--rejected"] for s in self.sessions)
        yield ["survey", self.archive, "--by", "model"]

    def test_no_line_is_wider_than_80_columns(self):
        for words in self.views():
            with self.subTest(words[:2]):
                out = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True).stdout
                self.assertGreater(len(out.splitlines()), 20)
                self.assertEqual([], [line for line in out.splitlines() if columns(line) > 80])

    def test_names_that_differ_only_at_their_ends_are_shown_differently(self):
        out = subprocess.run([PROGRAM, "solve", "--full", self.sessions[1], "--quiet"], capture_output=True, text=True).stdout
        steps = re.findall(r"^  (\S.*?)  [+-]\d\.00°", out[out.index("\nSteps"):], re.M)
        self.assertEqual(5, len(set(steps)), steps)

    def test_colours_appear_only_on_terminals_that_permit_them(self):
        for words in (["solve", self.session], ["measure", self.session / "step-03.wav"], ["survey", self.archive]):
            with self.subTest(words[0]):
                colours = lambda **env: re.findall(r"\x1b\[[0-9;]*m", on_terminal(words, "stdout", **env)[1])
                self.assertTrue(colours())
                self.assertEqual([], colours(NO_COLOR="1"))
                self.assertEqual([], colours(TERM="dumb"))
                piped = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True).stdout
                self.assertNotIn("\x1b", piped)
                # Only the colours differ.
                self.assertEqual(piped, re.sub(r"\x1b\[[0-9;]*m", "", on_terminal(words, "stdout")[1]))

    def test_progress_is_shown_on_a_terminal_and_then_erased(self):
        captures = sorted(self.session.glob("*.wav"))
        for words, what in ((["measure", *captures], "5 recordings"), (["solve", self.session], "5 recordings"), (["solve", *self.sessions], "3 sessions")):
            with self.subTest(words[0], what=what):
                status, shown = on_terminal(words, "stderr")
                self.assertEqual(0, status)
                self.assertIn(f"[------------------------] 0 of {what}", shown)
                self.assertTrue(all(len(bar) < 80 for bar in re.findall(r"\[[#-]{24}\][^\r\n]*", shown)))
                # Each bar is wiped before anything else is written.
                self.assertEqual(shown.count("["), shown.count("\r\x1b[K") * 2 )

    def test_progress_is_shown_only_on_terminals_and_not_with_quiet(self):
        words = ["solve", self.session]
        self.assertNotIn(" of ", subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True).stderr)
        self.assertEqual((0, ""), on_terminal([*words, "--quiet"], "stderr"))


if __name__ == "__main__":
    unittest.main()
