# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks every link of the built documentation site: the file is there, so is the anchor, and nothing is loaded from another host. Usage: check_site.py FOLDER"""
import html.parser
import pathlib
import sys
import urllib.parse

LOADED = {("link", "href"), ("script", "src"), ("img", "src"), ("iframe", "src")}


class Page(html.parser.HTMLParser):
    """Collects the anchors, the links and what a page loads."""

    def __init__(self, text):
        super().__init__()
        self.anchors, self.links, self.loaded = set(), [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        for name, value in attrs:
            if name == "id" or (tag == "a" and name == "name"):
                self.anchors.add(value)
            elif name in ("href", "src") and value:
                (self.loaded if (tag, name) in LOADED else self.links).append(value)


def problems(folder):
    """Yields a line for each link that leads nowhere, and the number of links at the end."""
    # The links of 404.html start at the root of a server, because it stands for a page at any place.
    pages = {p.resolve(): Page(p.read_text(errors="replace")) for p in sorted(folder.rglob("*.html")) if p.name != "404.html"}
    count = 0
    for path, page in pages.items():
        for link in [*page.links, *page.loaded]:
            address = urllib.parse.urlsplit(link)
            if address.scheme or address.netloc:
                if link in page.loaded and address.scheme not in ("data", "javascript"):
                    yield f"{path.relative_to(folder)}: loads {link}"
                continue
            count += 1
            target = (path.parent / urllib.parse.unquote(address.path)).resolve() if address.path else path
            if target.is_dir():
                target /= "index.html"
            if not target.exists():
                yield f"{path.relative_to(folder)}: {link} leads to no file"
            elif address.fragment and target in pages and urllib.parse.unquote(address.fragment) not in pages[target].anchors:
                yield f"{path.relative_to(folder)}: {link} leads to no anchor"
    yield count, len(pages)


if __name__ == "__main__":
    *found, (links, pages) = problems(pathlib.Path(sys.argv[1]).resolve())
    print("\n".join([*found, f"{pages} pages, {links} links, {len(found)} wrong"]))
    sys.exit(1 if found or links < 100 else 0)
