# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests docs/evenwall.bash in bash, called as readline calls it."""
import os
import pathlib
import shlex
import subprocess
import sys
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests/support"))
from command_help import COMMANDS, options_of  # noqa: E402

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
SCRIPT = ROOT / "docs/evenwall.bash"
FILES = ["a.wav", "B.FLAC", "with space.aiff", "steps.csv", "bench.jsonl", "solution.json", "notes.txt", "it's.w64"]


def offered(folder, *words):
    """The completions offered for the last of the words."""
    line = f"""
        source {shlex.quote(str(SCRIPT))}
        COMP_WORDS=(evenwall {' '.join(map(shlex.quote, words))})
        COMP_CWORD={len(words)}
        "$(complete -p evenwall | sed 's/.*-F \\([^ ]*\\).*/\\1/')"
        printf '%s\\n' "${{COMPREPLY[@]}}"
    """
    run = subprocess.run(["bash", "--norc", "-c", line], cwd=folder, capture_output=True, text=True, env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"})
    assert run.returncode == 0 and not run.stderr, run.stderr
    return sorted(filter(None, run.stdout.split("\n")))


class Completion(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory()
        self.addCleanup(scratch.cleanup)
        self.folder = pathlib.Path(scratch.name)
        for name in FILES:
            (self.folder / name).touch()
        (self.folder / "session one").mkdir()

    def test_commands_are_completed(self):
        self.assertEqual(sorted(COMMANDS), offered(self.folder, ""))
        self.assertEqual(["simulate", "solve", "survey"], offered(self.folder, "s"))
        self.assertEqual(["--help", "--version", "-h"], offered(self.folder, "-"))

    def test_the_options_are_those_of_help(self):
        for command in COMMANDS:
            with self.subTest(command):
                self.assertEqual(sorted(options_of(PROGRAM, command)), offered(self.folder, command, "-"))
        self.assertEqual(["--gauge-u", "--gauge-zero-u"], offered(self.folder, "solve", "x", "--g"))

    def test_no_input_is_offered_after_an_option_that_takes_a_value(self):
        for command in COMMANDS:
            for option, value in options_of(PROGRAM, command).items():
                with self.subTest(command, option=option):
                    numbers = value in ("DEG", "X", "HZ", "N", "SECONDS", "TEXT", "BAND")
                    got = offered(self.folder, command, option, "")
                    if numbers:
                        self.assertEqual([], got)
                    elif value:
                        self.assertNotEqual([], got)

    def test_the_words_of_an_option_are_completed(self):
        self.assertEqual(["as_found", "no", "verify", "yes"], offered(self.folder, "measure", "a.wav", "--use", ""))
        self.assertEqual(["verify"], offered(self.folder, "measure", "--use", "v"))
        self.assertEqual(["verify"], offered(self.folder, "measure", "--use", "=", "v"))
        self.assertEqual(["as_found", "no", "verify", "yes"], offered(self.folder, "measure", "--use", "="))
        self.assertEqual(["left,lateral", "left,right", "left,vertical"], offered(self.folder, "measure", "--bands", "left,"))
        self.assertEqual(["right"], offered(self.folder, "measure", "--bands", "r"))
        self.assertEqual(["band", "equal", "least", "phase"], offered(self.folder, "solve", "x", "--aim", ""))
        self.assertEqual(["a", "flat"], offered(self.folder, "solve", "x", "--weighting", ""))
        self.assertIn("cartridge_model", offered(self.folder, "survey", "--by", ""))

    def test_files_are_offered_by_their_kind(self):
        self.assertEqual(sorted(["a.wav", "B.FLAC", "with space.aiff", "it's.w64", "session one"]), offered(self.folder, "measure", ""))
        self.assertEqual(["bench.jsonl", "session one", "steps.csv"], offered(self.folder, "solve", ""))
        self.assertEqual(["session one", "solution.json"], offered(self.folder, "report", ""))
        self.assertEqual(["bench.jsonl", "session one", "solution.json"], offered(self.folder, "survey", ""))
        self.assertEqual(["session one", "solution.json"], offered(self.folder, "solve", "x", "--calibration", "s"))
        self.assertEqual(["bench.jsonl"], offered(self.folder, "measure", "--append", "b"))
        self.assertEqual(["session one"], offered(self.folder, "simulate", "-o", ""))
        self.assertEqual([], offered(self.folder, "simulate", ""))
        for command in ("new", "watch"):
            self.assertEqual(["session one"], offered(self.folder, command, ""))
            self.assertEqual(["session one"], offered(self.folder, command, "s"))
        self.assertEqual(sorted([*FILES, "session one"]), offered(self.folder, "solve", "x", "-o", ""))

    def test_typed_text_may_be_quoted_and_is_never_evaluated(self):
        self.assertEqual(["with space.aiff"], offered(self.folder, "measure", "with\\ s"))
        self.assertEqual(["with space.aiff"], offered(self.folder, "measure", '"with s'))
        self.assertEqual(["it's.w64"], offered(self.folder, "measure", "it\\'"))
        self.assertEqual([], offered(self.folder, "measure", "$(touch owned)"))
        self.assertEqual([], offered(self.folder, "measure", "`touch owned`"))
        self.assertEqual(4, len(offered(self.folder, "measure", "--bands", "$(touch owned),")))
        self.assertEqual([], offered(self.folder, "measure", "--use", "$(touch owned)"))
        self.assertFalse((self.folder / "owned").exists())

    def test_a_folder_with_the_name_of_a_command_is_not_taken_for_it(self):
        (self.folder / "solve").mkdir()
        self.assertEqual(["yes"], offered(self.folder, "measure", "solve", "--use", "y"))

    def test_bash_reads_the_script_twice_without_a_message(self):
        run = subprocess.run(["bash", "--norc", "-uec", f"source {shlex.quote(str(SCRIPT))}; source {shlex.quote(str(SCRIPT))}; complete -p evenwall"],
                             capture_output=True, text=True)
        self.assertEqual((0, "complete -F _evenwall evenwall\n", ""), (run.returncode, run.stdout, run.stderr))


if __name__ == "__main__":
    unittest.main()
