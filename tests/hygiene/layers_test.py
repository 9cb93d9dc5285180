# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks every #include of src and include against the table of the modules that may include each other."""
import pathlib
import re
import sys
import unittest

ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]

MODULES = ("base", "numeric", "storage", "sandbox", "audio", "documents", "tables", "measure", "solve", "survey", "simulate", "report", "app")
MAY_INCLUDE = {
    "base": {"base"},
    "numeric": {"numeric", "base"},
    "storage": {"storage", "base"},
    "sandbox": {"sandbox", "storage", "base"},
    "audio": {"audio", "storage", "base"},
    "documents": {"documents", "storage", "base"},
    "tables": {"tables", "storage", "base"},
    "measure": {"measure", "numeric", "base"},
    "solve": {"solve", "numeric", "base"},
    "survey": {"survey", "numeric", "base"},
    "simulate": {"simulate", "base"},
    "report": {"report", "base"},
    "app": set(MODULES),
}
# The public headers. These have no structs of the data flow; numeric includes no others, storage and sandbox also text_files.hpp.
BASE_HEADERS = {"error.hpp", "units.hpp"}
MODEL_HEADERS = {"model.hpp", "words.hpp"}
PUBLIC = {
    "base": BASE_HEADERS,
    "numeric": BASE_HEADERS,
    "storage": BASE_HEADERS | {"text_files.hpp"},
    "sandbox": BASE_HEADERS | {"text_files.hpp"},
    # audio writes simulated sessions with their log and documents; simulate.hpp has only plain structs and one source.
    "audio": BASE_HEADERS | MODEL_HEADERS | {"files.hpp", "simulate.hpp"},
    "documents": BASE_HEADERS | MODEL_HEADERS | {"files.hpp", "text_files.hpp", "simulate.hpp"},
    "tables": BASE_HEADERS | MODEL_HEADERS | {"files.hpp"},
    "measure": BASE_HEADERS | MODEL_HEADERS | {"measure.hpp"},
    "solve": BASE_HEADERS | MODEL_HEADERS | {"solve.hpp"},
    "survey": BASE_HEADERS | MODEL_HEADERS | {"survey.hpp"},
    "simulate": BASE_HEADERS | MODEL_HEADERS | {"simulate.hpp"},
    "report": BASE_HEADERS | MODEL_HEADERS | {"report.hpp"},
}
PUBLIC_HEADERS_INCLUDE = {
    "error.hpp": set(), "units.hpp": set(), "text_files.hpp": set(), "words.hpp": {"model.hpp", "simulate.hpp"},
    "measure.hpp": {"model.hpp"} | BASE_HEADERS,
    "solve.hpp": {"model.hpp"} | BASE_HEADERS, "survey.hpp": {"model.hpp"} | BASE_HEADERS, "simulate.hpp": {"model.hpp"} | BASE_HEADERS,
    "files.hpp": {"model.hpp", "simulate.hpp", "survey.hpp", "text_files.hpp"} | BASE_HEADERS,
    "report.hpp": {"model.hpp", "survey.hpp"} | BASE_HEADERS,
}
# In the order of the data flow. Each part may include the parts before it.
MODEL_PARTS = ["model/warning.hpp", "model/audio.hpp", "model/band.hpp", "model/passage.hpp", "model/session_facts.hpp", "model/reading.hpp", "model/session.hpp", "model/solution.hpp", "model/survey.hpp"]
PUBLIC_HEADERS_INCLUDE |= {part: set(MODEL_PARTS[:i]) | BASE_HEADERS for i, part in enumerate(MODEL_PARTS)}
PUBLIC_HEADERS_INCLUDE["model.hpp"] = set(MODEL_PARTS)
# Each library and the only modules that may use it; all may use {fmt}. The modules that estimate include matrices through numeric/matrix.hpp.
THIRD_PARTY = [
    (re.compile(r"fmt/"), set(MODULES)),
    (re.compile(r"CLI/"), {"app"}),
    (re.compile(r"sndfile\.h"), {"audio"}),
    (re.compile(r"FLAC/"), {"audio"}),
    (re.compile(r"nettle/"), {"audio"}),
    (re.compile(r"nlohmann/"), {"documents"}),
    (re.compile(r"csv\.h$"), {"tables"}),
    (re.compile(r"spawn\.h$"), {"report"}),  # the plotting engine
    (re.compile(r"linux/|seccomp\.h$|sys/(prctl|syscall)\.h$"), {"sandbox"}),  # limits of the process while it decodes
    (re.compile(r"fftw3\.h"), {"numeric"}),
    (re.compile(r"boost/"), {"numeric"}),
    (re.compile(r"Eigen/"), {"numeric"}),
]
FILE_SYSTEM = re.compile(r"filesystem$|fstream$|fcntl\.h$|sys/(stat|file|mman|statvfs)\.h$|dirent\.h$")
MAY_TOUCH_FILES = {"storage", "sandbox", "audio", "documents", "tables", "app"}
SYSTEM = re.compile(r"[a-z_0-9]+$|(unistd|malloc|pthread|poll|signal|fcntl|dirent|immintrin|emmintrin|xmmintrin|endian)\.h$|sys/[a-z]+\.h$")
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]', re.M)


def complaint_of_quoted(module, header):
    owner, _, rest = header.partition("/")
    if owner == "evenwall":
        return None if module == "app" or rest in PUBLIC[module] else "may not see this public header"
    if owner not in MODULES:
        return "does not name a module; write module/file.hpp"
    return None if owner in MAY_INCLUDE[module] else f"may not include module {owner}"


def complaint_of_angled(module, header):
    for pattern, modules in THIRD_PARTY:
        if pattern.match(header):
            return None if module in modules else "may not use this library"
    if FILE_SYSTEM.match(header):
        return None if module in MAY_TOUCH_FILES else "may not touch the file system"
    return None if SYSTEM.match(header) else "is not in the table"


def complaints(root):
    found = []
    for path in sorted((root / "src").rglob("*.?pp")):
        module = path.relative_to(root / "src").parts[0]
        for kind, header in INCLUDE.findall(path.read_text()):
            check = complaint_of_quoted if kind == '"' else complaint_of_angled
            if said := check(module, header):
                found.append(f"{path.relative_to(root)}: {header}: {module} {said}")
    for path in sorted((root / "include/evenwall").rglob("*.hpp")):
        own = str(path.relative_to(root / "include/evenwall"))
        for kind, header in INCLUDE.findall(path.read_text()):
            name = header.removeprefix("evenwall/")
            if kind == '"' and name not in PUBLIC_HEADERS_INCLUDE[own]:
                found.append(f"{own}: may not include {header}")
            if kind == "<" and not re.match(r"[a-z_0-9]+$", header):
                found.append(f"{own}: {header}: a public header may include only the standard library")
    return found


class Layers(unittest.TestCase):
    maxDiff = None

    def test_the_check_reads_the_sources(self):
        self.assertGreater(len(list((ROOT / "src").rglob("*.cpp"))), 30)

    def test_no_module_includes_a_forbidden_header(self):
        self.assertEqual([], complaints(ROOT))

    def test_the_check_detects_a_forbidden_include(self):
        self.assertIsNotNone(complaint_of_quoted("simulate", "numeric/fft.hpp"))
        self.assertIsNotNone(complaint_of_quoted("numeric", "evenwall/model.hpp"))
        self.assertIsNotNone(complaint_of_quoted("measure", "solve/geometry.hpp"))
        self.assertIsNotNone(complaint_of_angled("report", "nlohmann/json.hpp"))
        self.assertIsNotNone(complaint_of_angled("app", "seccomp.h"))
        self.assertIsNone(complaint_of_angled("sandbox", "seccomp.h"))
        self.assertIsNotNone(complaint_of_angled("audio", "nlohmann/json.hpp"))
        self.assertIsNotNone(complaint_of_quoted("documents", "tables/csv_table.hpp"))
        self.assertIsNotNone(complaint_of_quoted("storage", "sandbox/confinement.hpp"))
        self.assertIsNotNone(complaint_of_angled("solve", "filesystem"))
        self.assertIsNotNone(complaint_of_angled("audio", "spawn.h"))
        self.assertIsNotNone(complaint_of_angled("audio", "CLI/CLI.hpp"))


if __name__ == "__main__":
    unittest.main()
