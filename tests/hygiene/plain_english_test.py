# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests that no comment in src, include and tests uses an idiom that does not mean what it says. Usage: plain_english_test.py ROOT

Strings, test names and docs are not searched yet.
"""
import ast
import io
import pathlib
import re
import sys
import tokenize
import unittest

ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]
FOLDERS = ("src", "include", "tests")
# Persons for code, and verbs that have a plain equivalent: report, show, determine, correct, subtract, exclude, skip, correlated, take precedence.
IDIOMS = re.compile(
    r"\b(?:nobody|whoever|somebody|everybody|neighbours?|houses?|tells?|says?|said|knows|mend(?:s|ed|ing)?|(?<!there )is none|"
    r"stands? by|goes by|goes before|left out|leav(?:e|es|ing) out|tak(?:e|es|ing|en) out|pass(?:es|ed|ing) over|sets? aside|setting aside|"
    r"hangs? together|in the making|can't be told|its own business)\b", re.IGNORECASE)
# (file, text in the comment, reason)
ALLOWED = [
    ("src/report/survey_words.hpp", "\"can't be told\"", "quotes what the function returns"),
    ("tests/unit/storage/descriptor_test.cpp", "the user nobody", "the name of a Unix user"),
    ("tests/hygiene/plain_english_test.py", "", "lists the idioms"),
]


def comments_of_cpp(text):
    """Yields (line, comment); strings, also raw ones, are skipped."""
    at, line = 0, 1
    token = re.compile(r'//[^\n]*|/\*.*?\*/|(?<!\w)R"([^(\s]*)\(.*?\)\1"|"(?:\\.|[^"\\\n])*"|(?<![0-9a-fA-F])\'(?:\\.|[^\'\\\n])+\'', re.DOTALL)
    for found in token.finditer(text):
        line += text.count("\n", at, found.start())
        at = found.start()
        if found[0].startswith("/"):
            yield line, found[0]


def comments_of_python(text):
    """Yields (line, comment or docstring)."""
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.COMMENT:
            yield token.start[0], token.string
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef)) and ast.get_docstring(node) is not None:
            yield node.body[0].lineno, ast.get_docstring(node)


def idioms_of(name, text):
    comments = comments_of_python(text) if name.endswith(".py") else comments_of_cpp(text)
    for line, comment in comments:
        for found in IDIOMS.finditer(" ".join(comment.split())):
            if not any(name == file and allowed in comment for file, allowed, _ in ALLOWED):
                yield line, found[0], comment


def sources():
    for folder in FOLDERS:
        yield from (p for p in sorted((ROOT / folder).rglob("*")) if p.suffix in (".cpp", ".hpp", ".py") and p.is_file())


class PlainEnglish(unittest.TestCase):
    def test_no_comment_has_an_idiom(self):
        files = list(sources())
        self.assertGreater(len(files), 500)
        for path in files:
            name = str(path.relative_to(ROOT))
            for line, idiom, comment in idioms_of(name, path.read_text()):
                with self.subTest(name, line=line):
                    self.fail(f"'{idiom}' in: {' '.join(comment.split())[:160]}")

    def test_comments_are_found_and_strings_are_not(self):
        cpp = 'int n = 1\'000;  // nobody\nauto s = "// nobody"; char c = \'"\'; /* a step is\n set aside */ auto r = R"(// nobody)";  // it tells\n'
        self.assertEqual([(1, "nobody"), (2, "set aside"), (3, "tells")], [(line, idiom) for line, idiom, _ in idioms_of("a.cpp", cpp)])
        python = '"""It knows."""\nx = "nobody"  # nobody\n'
        self.assertEqual([(1, "knows"), (2, "nobody")], sorted((line, idiom) for line, idiom, _ in idioms_of("a.py", python)))

    def test_what_is_allowed_still_stands(self):
        for file, text, _ in ALLOWED:
            with self.subTest(file):
                self.assertIn(text, (ROOT / file).read_text())


if __name__ == "__main__":
    unittest.main()
