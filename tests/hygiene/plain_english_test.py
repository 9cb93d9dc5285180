# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests that no comment, no text of the program and no page uses an idiom that does not mean what it says. Usage: plain_english_test.py ROOT

Comments: src, include and tests. Texts: the string literals of src and include that are more than a word. Pages: README.md, DEVELOPERS.md,
data/README.md, docs/**/*.md, the man page and the texts of the JSON Schemas, without code blocks and code words.
`plain_english_test.py ROOT --count` prints how many there are of each.
"""
import ast
import io
import json
import pathlib
import re
import sys
import tokenize
import unittest

COUNT = "--count" in sys.argv
if COUNT:
    sys.argv.remove("--count")
ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]
FOLDERS = ("src", "include", "tests")
# Persons for code, and verbs that have a plain equivalent: report, show, determine, correct, subtract, exclude, skip, correlated, take precedence.
PHRASES = (
    r"nobody|whoever|somebody|everybody|neighbours?|houses?|tells?|says?|said|knows|mend(?:s|ed|ing)?|(?<!there )is none|"
    r"stands? by|goes by|goes before|left out|leav(?:e|es|ing) out|tak(?:e|es|ing|en) out|pass(?:es|ed|ing) over|sets? aside|setting aside|"
    r"hangs? together|in the making|can't be told|its own business")
IDIOMS = re.compile(rf"\b(?:{PHRASES})\b", re.IGNORECASE)
# In what a user reads, also words that the vocabulary replaces, and fragments.
READ_IDIOMS = re.compile(
    rf"\b(?:{PHRASES}|told|took out|are none|is no one|whose|heard|hears|quiet channel|leaks?|leaking|audit(?:s|ed)?|truly cut|true cut|"
    r"what (?:tilt|azimuth) can't|good to)\b", re.IGNORECASE)
# (file, text, reason)
ALLOWED = [
    ("src/report/leak_charts.cpp", "plot $leaks", "the name of a data block in a script"),
    ("DEVELOPERS.md", "docs/heard.svg", "the name of a file"),
    ("docs/reliability.md", "memory leak", "what a sanitizer searches for"),
    ("tests/unit/storage/descriptor_test.cpp", "the user nobody", "the name of a Unix user"),
    ("tests/hygiene/plain_english_test.py", "", "lists the idioms"),
]


def tokens_of_cpp(text):
    """Yields (line, "comment" or "string", text); character literals are skipped."""
    at, line = 0, 1
    token = re.compile(r'//[^\n]*|/\*.*?\*/|(?<!\w)R"([^(\s]*)\(.*?\)\1"|"(?:\\.|[^"\\\n])*"|(?<![0-9a-fA-F])\'(?:\\.|[^\'\\\n])+\'', re.DOTALL)
    for found in token.finditer(text):
        line += text.count("\n", at, found.start())
        at = found.start()
        if found[0].startswith("/"):
            yield line, "comment", found[0]
        elif found[0].startswith(('"', "R")) and re.search(r"\S\s+\S", found[0]):
            yield line, "string", found[0]


def comments_of_python(text):
    """Yields (line, "comment", comment or docstring)."""
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.COMMENT:
            yield token.start[0], "comment", token.string
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef)) and ast.get_docstring(node) is not None:
            yield node.body[0].lineno, "comment", ast.get_docstring(node)


def paragraphs_of_page(text):
    """Yields (line, "page", paragraph or table row), without code blocks, code words and addresses of links."""
    blank = lambda found: re.sub(r"[^\n]", " ", found[0])
    text = re.sub(r"^ *```.*?^ *```$", blank, text, flags=re.M | re.S)
    text = re.sub(r"`[^`]*`", blank, text)
    text = re.sub(r"\]\([^)]*\)", blank, text)
    for found in re.finditer(r"(?:^\|.*$)|(?:^(?!\|).+\n?)+", text, re.M):
        yield text.count("\n", 0, found.start()) + 1, "page", found[0]


def texts_of_schema(node):
    if isinstance(node, dict):
        for key, inner in node.items():
            if key in ("description", "title", "$comment") and isinstance(inner, str):
                yield 0, "page", inner
            else:
                yield from texts_of_schema(inner)
    elif isinstance(node, list):
        for inner in node:
            yield from texts_of_schema(inner)


def texts_of(name, text):
    if name.endswith(".py"):
        return comments_of_python(text)
    if name.endswith((".md", ".1")):
        return paragraphs_of_page(text)
    if name.endswith(".json"):
        return texts_of_schema(json.loads(text))
    tokens = tokens_of_cpp(text)
    return tokens if name.startswith(("src/", "include/")) else (t for t in tokens if t[1] == "comment")


def idioms_of(name, text):
    """Yields (line, kind of text, idiom, text)."""
    for line, kind, part in texts_of(name, text):
        for found in (IDIOMS if kind == "comment" else READ_IDIOMS).finditer(" ".join(part.split())):
            if not any(name == file and allowed in part for file, allowed, _ in ALLOWED):
                yield line, kind, found[0], part


def sources():
    for folder in FOLDERS:
        yield from (p for p in sorted((ROOT / folder).rglob("*")) if p.suffix in (".cpp", ".hpp", ".py") and p.is_file())


def pages():
    yield from (ROOT / name for name in ("README.md", "DEVELOPERS.md", "data/README.md", "docs/evenwall.1"))
    yield from sorted((ROOT / "docs").rglob("*.md"))
    yield from sorted((ROOT / "docs").glob("*.schema.json"))


def all_idioms():
    for path in (*sources(), *pages()):
        name = str(path.relative_to(ROOT))
        for line, kind, idiom, part in idioms_of(name, path.read_text()):
            yield name, line, kind, idiom, " ".join(part.split())


class PlainEnglish(unittest.TestCase):
    def test_no_text_has_an_idiom(self):
        self.assertGreater(len(list(sources())), 500)
        self.assertGreater(len(list(pages())), 25)
        for name, line, kind, idiom, part in all_idioms():
            with self.subTest(name, line=line):
                self.fail(f"'{idiom}' in the {kind}: {part[:160]}")

    def test_comments_and_texts_are_found(self):
        cpp = 'int n = 1\'000;  // nobody\nauto s = "// nobody is"; char c = \'"\'; /* a step is\n set aside */ auto r = R"(// it leaks)";  // it tells\n'
        comments = [(1, "comment", "nobody"), (2, "comment", "set aside"), (3, "comment", "tells")]
        strings = [(2, "string", "nobody"), (3, "string", "leaks")]
        self.assertEqual(comments, [found[:3] for found in idioms_of("tests/a.cpp", cpp)])
        self.assertEqual(sorted(comments + strings), sorted(found[:3] for found in idioms_of("src/a.cpp", cpp)))
        python = '"""It knows."""\nx = "nobody"  # nobody\n'
        self.assertEqual([(1, "knows"), (2, "nobody")], sorted((found[0], found[2]) for found in idioms_of("a.py", python)))
        page = "It `tells` a\nlie to [nobody](tells.md).\n\n```sh\nsaid\n```\n| a | it says |\n| b | said |\n"
        self.assertEqual([(1, "nobody"), (7, "says"), (8, "said")], [(found[0], found[2]) for found in idioms_of("a.md", page)])
        self.assertEqual(["leak"], [found[2] for found in idioms_of("a.json", '{"properties": {"leak": {"description": "a leak"}}}')])

    def test_every_allowed_text_still_exists(self):
        for file, text, _ in ALLOWED:
            with self.subTest(file):
                self.assertTrue(text in (ROOT / file).read_text(), "delete this exception")


if __name__ == "__main__":
    if COUNT:
        kinds = [kind for _, _, kind, _, _ in all_idioms()]
        print(", ".join(f"{kind}s: {kinds.count(kind)}" for kind in ("comment", "string", "page")))
    else:
        unittest.main()
