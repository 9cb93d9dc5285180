# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks that the version is the same everywhere and that the files of the package are as Debian requires."""
import email.utils
import pathlib
import re
import sys
import unittest

ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]


def first(pattern, name):
    found = re.search(pattern, (ROOT / name).read_text(), re.M)
    assert found, f"{name}: no {pattern}"
    return found[1]


class Package(unittest.TestCase):
    def test_the_version_is_the_same_everywhere(self):
        version = first(r"^project\(evenwall VERSION (\S+) ", "CMakeLists.txt")
        self.assertEqual(version, first(r'kVersion = "([^"]+)"', "src/base/version.hpp"))
        self.assertEqual(version, first(r"\Aevenwall \((\S+)-\d+\) ", "cmake/debian/changelog"))
        self.assertEqual(version.rsplit(".", 1)[0], first(r"find_package\(evenwall (\S+) ", "tests/consumer/CMakeLists.txt"))
        self.assertEqual(version.rsplit(".", 1)[0], first(r"find_package\(evenwall (\S+) ", "docs/library.md"))

    def test_the_method_page_states_the_method_version(self):
        self.assertEqual(first(r"kMethodVersion = (\d+);", "src/base/version.hpp"), first(r"names the version of this page; it is (\d+)\.", "docs/method.md"))

    def test_licences_of_all_libraries_are_named(self):
        """Covers the libraries that the source includes: those that are linked and those that the compiler copies into the binaries."""
        linked = {"fftw3": "FFTW3", "sndfile": "libsndfile", "FLAC": "libFLAC", "nettle": "Nettle", "csv": "libcsv"}
        copied = {"CLI": "CLI11", "nlohmann": "nlohmann_json", "Eigen": "Eigen", "boost": "Boost.Math", "fmt": "{fmt}"}
        source = "".join(p.read_text() for p in (ROOT / "src").rglob("*.?pp"))
        included = set(re.findall(r"#include <(\w+)/", source)) | set(re.findall(r"#include <(\w+)\.h>", source))
        self.assertLessEqual(set(linked) | set(copied), included, "the list names a library that is no longer used")
        # Folders in angle brackets are libraries, except for those of the system.
        self.assertEqual(set(), set(re.findall(r"#include <(\w+)/", source)) - set(linked) - set(copied) - {"sys", "linux"})
        rows = re.findall(r"^\| ([^|]+?) \|", (ROOT / "docs/licences.md").read_text(), re.M)
        self.assertEqual([], [name for name in {**linked, **copied}.values() if name not in rows])
        papers = (ROOT / "cmake/debian/copyright").read_text()
        self.assertEqual([], [name for name in copied.values() if f"\nFiles: {name}\n" not in papers])
        for licence in re.findall(r"^License: (.+)$", papers, re.M):
            self.assertRegex(papers, rf"(?m)^License: {re.escape(licence)}\n ", f"{licence} has no text")

    def test_the_debian_changelog_ends_with_a_valid_date(self):
        closing = first(r"^ -- [^<>]+ <[^<>\s]+>  (.*)$", "cmake/debian/changelog")
        self.assertIsNotNone(email.utils.parsedate_to_datetime(closing))

    def test_the_changelog_for_users_has_unreleased_on_top(self):
        self.assertEqual("Unreleased", first(r"^## (.*)$", "docs/changelog.md"))


if __name__ == "__main__":
    unittest.main()
