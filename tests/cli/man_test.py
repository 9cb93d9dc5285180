# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks that docs/evenwall.1 is complete against each command's --help, in both directions, and that it is valid roff."""
import pathlib
import re
import subprocess
import sys
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests/support"))
from command_help import COMMANDS, commands_of, options_of  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
PAGE = ROOT / "docs/evenwall.1"


def parts():
    """{heading or command: its source}"""
    pieces = re.split(r"^\.S[HS] (.+)$", PAGE.read_text(), flags=re.M)
    return dict(zip(pieces[1::2], pieces[2::2]))


def options_in(source):
    """The heads of tagged paragraphs that are options: {option: name of its value or ""}."""
    found = {}
    for head in re.findall(r"^\.TP\n\.\w+ (.*)$", source, re.M):
        words = head.replace("\\-", "-").replace('"', "").split()
        names = [w.strip(",") for w in words if w.startswith("-")]
        values = [w for w in words if w.isupper() and not w.startswith("-")]
        found.update({name: values[0] if values else "" for name in names})
    return found


class Man(unittest.TestCase):
    def test_the_page_lists_the_commands_of_the_program(self):
        self.assertEqual(set(COMMANDS), commands_of(PROGRAM))
        self.assertLessEqual(set(COMMANDS), set(parts()))

    def test_the_options_of_each_command_are_those_of_help(self):
        common = options_in(parts()["OPTIONS OF EVERY COMMAND"])
        self.assertIn("--help", common)
        for command in COMMANDS:
            with self.subTest(command):
                own = options_in(parts()[command])
                self.assertEqual(set(), set(own) & set(common))
                self.assertEqual(options_of(PROGRAM, command), {**common, **own})

    def test_the_page_states_exit_statuses_environment_and_cautions(self):
        self.assertEqual(["0", "1", "2", "129", "130", "143"], re.findall(r"\b\d+\b", " ".join(re.findall(r"^\.TP\n(.*)$", parts()["EXIT STATUS"], re.M))))
        self.assertIn("NO_COLOR", parts()["ENVIRONMENT"])
        for word in ("volume", "hearing|ears", "loudspeakers", "rewired", "fragile", "makers"):
            self.assertRegex(parts()["CAUTIONS"], word)

    def test_groff_gives_no_warning(self):
        run = subprocess.run(["groff", "-man", "-ww", "-Tutf8", "-P-cbou", "-rLL=80n", PAGE], capture_output=True, text=True)
        self.assertEqual((0, ""), (run.returncode, run.stderr))
        self.assertLessEqual(max(map(len, run.stdout.splitlines())), 80)
        self.assertIn("--record-correction SURVEY", run.stdout)

    def test_the_examples_use_options_of_the_program(self):
        examples = [line.replace("\\-", "-") for block in re.findall(r"^\.EX\n(.*?)^\.EE", PAGE.read_text(), re.M | re.S) for line in block.splitlines()]
        self.assertGreater(len(examples), 3)
        for line in examples:
            _, command, *words = line.split()
            self.assertLessEqual({w for w in words if w.startswith("-")}, set(options_of(PROGRAM, command)))


if __name__ == "__main__":
    unittest.main()
