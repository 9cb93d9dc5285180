# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks the project's rules about files as far as a machine can check them."""
import json
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import unittest

ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]
PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve()) if len(sys.argv) > 1 else None

MOST_LINES = 300
MOST_LINES_OF_A_FUNCTION = 60
# Sources that the program's own tests (tests/cli) cover: they are the process itself, and a unit test could call nothing in them.
COVERED_BY_CLI = {"app/main.cpp", "sandbox/interruption.cpp", "app/console.cpp", "app/measure_command.cpp", "app/solve_command.cpp",
                  "app/calibrate_command.cpp", "app/survey_command.cpp", "app/simulate_command.cpp", "app/new_command.cpp",
                  "app/watch_command.cpp"}
TESTED_BY_RESULT = {"sandbox/call_filter/compile_call_filter.cpp"}  # run by the build; sandbox/confinement_test and faults_confinement test its output


def sources():
    return sorted(p for top in ("src", "include", "tests", "docs") for p in (ROOT / top).rglob("*.?pp"))


def long_functions(text):
    """Blocks that a line at the margin opens and a brace at the margin closes. The formatter guarantees both."""
    start = None
    for number, line in enumerate(text.splitlines(), 1):
        if start is None and line.endswith("{") and "(" in line and not line.startswith((" ", "namespace", "struct", "class", "}")):
            start = number
        elif start is not None and line.startswith("}"):
            if number - start + 1 > MOST_LINES_OF_A_FUNCTION:
                yield start, number - start + 1
            start = None


def fenced(path, language):
    return re.findall(rf"^```{language}(?: [^\n]*)?\n(.*?)^```", path.read_text(), re.M | re.S)


class Tree(unittest.TestCase):
    maxDiff = None

    def test_files_are_short(self):
        lengths = {str(p.relative_to(ROOT)): len(p.read_text().splitlines()) for p in sources()}
        self.assertEqual({}, {p: n for p, n in lengths.items() if n > MOST_LINES})

    def test_every_source_names_its_licence(self):
        scripts = [p for pattern in ("**/*.py", "**/*.sh", "**/CMakeLists.txt", "**/*.cmake") for top in ("tests", "cmake", "data") for p in (ROOT / top).glob(pattern)]
        self.assertGreater(len(scripts), 50)
        silent = [p for p in [*sources(), *scripts, ROOT / "CMakeLists.txt", ROOT / ".ci/run"]
                  if not any("SPDX-License-Identifier: GPL-3.0-or-later" in line for line in p.read_text().splitlines()[:2])]
        self.assertEqual([], [str(p.relative_to(ROOT)) for p in silent])

    def test_functions_are_short(self):
        self.assertEqual([], [(str(p.relative_to(ROOT)), *f) for p in sources() for f in long_functions(p.read_text())])
        self.assertEqual([(1, 62)], list(long_functions("int f() {\n" + "  g();\n" * 60 + "}\n")))

    def test_every_source_has_its_test(self):
        missing = []
        for path in sorted((ROOT / "src").rglob("*.cpp")):
            name = str(path.relative_to(ROOT / "src"))
            test = ROOT / "tests/unit" / path.parent.name / f"{path.stem}_test.cpp"
            if name not in COVERED_BY_CLI | TESTED_BY_RESULT and not test.exists():
                missing.append(str(test.relative_to(ROOT)))
        self.assertEqual([], missing)

    def test_names_are_snake_case_and_not_vague(self):
        vague = re.compile(r"util|misc|helper|manager|handler")
        wrong = [str(p.relative_to(ROOT)) for p in sources() if not re.fullmatch(r"[a-z0-9_]+\.[ch]pp", p.name) or vague.search(p.name)]
        self.assertEqual([], wrong)

    def test_every_source_is_formatted_with_clang_format_14(self):
        tool = shutil.which("clang-format-14") or shutil.which("clang-format")
        # Debian 12 has this version. The next version breaks lines at other places.
        if tool is None or " version 14." not in subprocess.run([tool, "--version"], capture_output=True, text=True, check=True).stdout:
            self.skipTest("clang-format 14 is not installed")
        run = subprocess.run([tool, "--dry-run", "--Werror", *map(str, sources())], capture_output=True, text=True)
        self.assertEqual("", "\n".join(l for l in run.stderr.splitlines() if "error:" in l))

    def test_json_in_docs_parses(self):
        documents = [*(ROOT / "docs").rglob("*.md"), ROOT / "README.md", ROOT / "DEVELOPERS.md"]
        for path in documents:
            for block in fenced(path, "json"):
                with self.subTest(path.name, block=block[:60]):
                    json.loads(block)
        for path in [*ROOT.glob("docs/**/*.json"), *ROOT.glob("data/**/*.json"), ROOT / "CMakePresets.json"]:
            with self.subTest(path.name):
                json.loads(path.read_text())

    def test_every_document_has_a_schema_that_refuses_unknown_keys(self):
        schemas = {p.name.split(".")[0]: json.loads(p.read_text()) for p in (ROOT / "docs").glob("*.schema.json")}
        named = re.findall(r'"evenwall/(\w+)/1"', "".join(p.read_text() for p in (ROOT / "src").rglob("*.cpp")))
        self.assertEqual(set(named) | set(re.findall(r"^## evenwall/(\w+)/1", (ROOT / "docs/formats.md").read_text(), re.M)), set(schemas))

        def open_objects(part, place):
            if isinstance(part, list):
                part = dict(enumerate(part))
            if not isinstance(part, dict):
                return
            if "object" in (part.get("type") or ()) and part.get("additionalProperties") is not False:
                yield place
            for key, value in part.items():
                yield from open_objects(value, f"{place}/{key}")
        for name, schema in schemas.items():
            self.assertEqual("https://json-schema.org/draft/2020-12/schema", schema["$schema"])
            # A session keeps texts under any key that the user chooses.
            self.assertEqual([], [p for p in open_objects(schema, name) if not p.endswith("$defs/session")])

    def test_links_of_the_documents_have_targets(self):
        for path in [*(ROOT / "docs").rglob("*.md"), ROOT / "README.md", ROOT / "DEVELOPERS.md"]:
            prose = re.sub(r"`[^`\n]*`", "", re.sub(r"^ *```.*?^ *```$", "", path.read_text(), flags=re.M | re.S))  # code may look like a link
            for target in re.findall(r"\]\(([^)#]+)[^)]*\)", prose):
                if "://" not in target:
                    self.assertTrue((path.parent / target).exists(), f"{path.name}: {target}")

    def test_commands_in_documents_are_valid(self):
        """Runs every `evenwall …` of a fenced sh block in a folder without its files. It must fail because of them (1), not because of its usage (2)."""
        if PROGRAM is None:
            self.skipTest("no program given")
        seen = 0
        for path in [*(ROOT / "docs").glob("*.md"), ROOT / "README.md"]:
            if path.name == "recipes.md":
                continue  # run as a whole by tests/cli/manual_test.py, as docs/manual is
            lines = [line for block in fenced(path, "sh") for line in block.replace("\\\n", " ").splitlines()]
            for part in (part for line in lines for part in line.split("#")[0].split("|")):
                words = shlex.split(part)
                if not words or words[0] != "evenwall":
                    continue
                seen += 1
                with self.subTest(path.name, command=part), tempfile.TemporaryDirectory() as empty:
                    run = subprocess.run([PROGRAM, *words[1:]], cwd=empty, stdin=subprocess.DEVNULL, capture_output=True, text=True)
                    self.assertEqual(0 if words[1] == "new" else 1, run.returncode, run.stderr)  # new makes what it needs
        self.assertGreater(seen, 5)

    def test_readme_begins_with_two_commands_that_a_shell_can_read(self):
        blocks = fenced(ROOT / "README.md", "sh")
        self.assertIn("cmake --workflow --preset demo", blocks[0])
        self.assertIn("cmake --workflow --preset release", blocks[1])
        for block in blocks[:2]:
            run = subprocess.run(["bash", "-n"], input=block, capture_output=True, text=True)
            self.assertEqual("", run.stderr)

    def test_no_file_contains_a_path_of_a_machine(self):
        pattern = re.compile(r"/(work|root)/|/home/[a-z]|(?<![\w.])/tmp/")
        listed = subprocess.run(["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True)
        if listed.returncode != 0:
            self.skipTest("not a git checkout")
        found = []
        for name in listed.stdout.split():
            path = ROOT / name
            if name == "LICENSE" or path.resolve() == pathlib.Path(__file__).resolve() or not path.is_file():
                continue
            try:
                text = path.read_text()
            except UnicodeDecodeError:
                continue
            if pattern.search(text):
                found.append(name)
        self.assertEqual([], found)


if __name__ == "__main__":
    unittest.main()
