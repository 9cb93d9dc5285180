# SPDX-License-Identifier: GPL-3.0-or-later
"""Copies the repository's pages to the folder that MkDocs reads. Usage: stage.py ROOT FOLDER

README.md becomes index.md, DEVELOPERS.md and data/README.md lie beside the pages of docs. Links are rewritten to the new places; a link to a file that is not
staged ends the run. The name of a file behind a fence (```csv steps.csv) becomes a line above the block, which Python-Markdown would not read otherwise.
"""
import pathlib
import re
import shutil
import sys

MOVED = {"README.md": "index.md", "DEVELOPERS.md": "developers.md", "data/README.md": "data.md", "LICENSE": "LICENSE.txt"}
LINK = re.compile(r"(!?\[(?:[^\]\\]|\\.)*\]\()([^)\s#]*)(#[^)]*)?\)")
FENCE = re.compile(r"^```(\w+) (\S+)$", re.M)
BLOCK = re.compile(r"^```.*?^```$", re.M | re.S)


def place(path):
    """Where a file of the repository lies on the site; None if it does not."""
    if path in MOVED:
        return MOVED[path]
    return path.removeprefix("docs/") if path.startswith("docs/") and not path.startswith("docs/site/") else None


def relative(target, page):
    up = "../" * (len(pathlib.PurePosixPath(page).parts) - 1)
    return up + target


def with_links(text, path):
    """The page's text with each link leading to the place on the site."""
    def moved(link):
        before, target, anchor = link[1], link[2], link[3] or ""
        if not target or re.match(r"\w+:", target):
            return link[0]
        file = pathlib.PurePosixPath(path).parent / target
        parts = []
        for part in file.parts:
            parts = parts[:-1] if part == ".." else [*parts, part]
        there = place("/".join(parts))
        if there is None:
            sys.exit(f"{path}: the link to {target} leads to a file that is not on the site")
        return f"{before}{relative(there, place(path))}{anchor})"
    pieces, at = [], 0
    for block in BLOCK.finditer(text):
        pieces += [LINK.sub(moved, text[at:block.start()]), block[0]]
        at = block.end()
    return "".join([*pieces, LINK.sub(moved, text[at:])])


def staged(text, path):
    return FENCE.sub(r"*\2*:\n\n```\1", with_links(text, path))


def main(root, folder):
    shutil.rmtree(folder, ignore_errors=True)
    files = [root / name for name in MOVED] + [p for p in (root / "docs").rglob("*") if p.is_file() and "site" not in p.relative_to(root / "docs").parts[:-1]]
    for source in files:
        path = source.relative_to(root).as_posix()
        target = folder / place(path)
        target.parent.mkdir(parents=True, exist_ok=True)
        if path.endswith(".md"):
            target.write_text(staged(source.read_text(), path))
        else:
            shutil.copy(source, target)


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]))
