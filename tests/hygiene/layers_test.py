"""Who may include whom: the table of the house, held against every #include of src and include."""
import pathlib
import re
import sys
import unittest

ROOT = pathlib.Path(sys.argv.pop(1)) if len(sys.argv) > 1 else pathlib.Path(__file__).parents[2]

ROOMS = ("base", "numeric", "measure", "solve", "survey", "simulate", "files", "report", "app")
MAY_INCLUDE = {
    "base": {"base"},
    "numeric": {"numeric", "base"},
    "measure": {"measure", "numeric", "base"},
    "solve": {"solve", "numeric", "base"},
    "survey": {"survey", "numeric", "base"},
    "simulate": {"simulate", "base"},
    "files": {"files", "base"},
    "report": {"report", "base"},
    "app": set(ROOMS),
}
# The public headers: base ones have no structs of the data flow, and numeric may see those only.
BASE_HEADERS = {"error.hpp", "units.hpp"}
PUBLIC = {
    "base": BASE_HEADERS,
    "numeric": BASE_HEADERS,
    "measure": BASE_HEADERS | {"model.hpp", "measure.hpp"},
    "solve": BASE_HEADERS | {"model.hpp", "solve.hpp"},
    "survey": BASE_HEADERS | {"model.hpp", "survey.hpp"},
    "simulate": BASE_HEADERS | {"model.hpp", "simulate.hpp"},
    # files writes simulated sessions: simulate.hpp is plain structs and one source.
    "files": BASE_HEADERS | {"model.hpp", "files.hpp", "simulate.hpp"},
    "report": BASE_HEADERS | {"model.hpp", "report.hpp"},
}
PUBLIC_HEADERS_INCLUDE = {
    "error.hpp": set(), "units.hpp": set(), "model.hpp": BASE_HEADERS, "measure.hpp": {"model.hpp"} | BASE_HEADERS,
    "solve.hpp": {"model.hpp"} | BASE_HEADERS, "survey.hpp": {"model.hpp"} | BASE_HEADERS, "simulate.hpp": {"model.hpp"} | BASE_HEADERS,
    "files.hpp": {"model.hpp", "simulate.hpp", "survey.hpp"} | BASE_HEADERS,
    "report.hpp": {"model.hpp", "survey.hpp"} | BASE_HEADERS,
}
# A library and the rooms that alone may use it; {fmt} is for everyone. The rooms that estimate get their matrices through numeric/matrix.hpp.
THIRD_PARTY = [
    (re.compile(r"fmt/"), set(ROOMS)),
    (re.compile(r"CLI/"), {"app"}),
    (re.compile(r"sndfile\.h"), {"files"}),
    (re.compile(r"FLAC/"), {"files"}),
    (re.compile(r"nlohmann/"), {"files"}),
    (re.compile(r"csv\.h$"), {"files"}),
    (re.compile(r"spawn\.h$"), {"report"}),  # the plotting engine
    (re.compile(r"linux/|seccomp\.h$"), {"files"}),  # what the process may do while it decodes
    (re.compile(r"fftw3\.h"), {"numeric"}),
    (re.compile(r"boost/"), {"numeric"}),
    (re.compile(r"Eigen/"), {"numeric"}),
]
FILE_SYSTEM = re.compile(r"filesystem$|fstream$|fcntl\.h$|sys/(stat|file|mman|statvfs)\.h$|dirent\.h$")
MAY_TOUCH_FILES = {"files", "app"}
SYSTEM = re.compile(r"[a-z_0-9]+$|(unistd|malloc|pthread|poll|signal|fcntl|dirent|immintrin|emmintrin|xmmintrin|endian)\.h$|sys/[a-z]+\.h$")
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]', re.M)


def complaint_of_quoted(room, header):
    owner, _, rest = header.partition("/")
    if owner == "evenwall":
        return None if room == "app" or rest in PUBLIC[room] else "may not see this public header"
    if owner not in ROOMS:
        return "names no room; write room/file.hpp"
    return None if owner in MAY_INCLUDE[room] else f"may not include room {owner}"


def complaint_of_angled(room, header):
    for pattern, rooms in THIRD_PARTY:
        if pattern.match(header):
            return None if room in rooms else "may not use this library"
    if FILE_SYSTEM.match(header):
        return None if room in MAY_TOUCH_FILES else "may not touch the file system"
    return None if SYSTEM.match(header) else "is in no row of the table"


def complaints(root):
    found = []
    for path in sorted((root / "src").rglob("*.?pp")):
        room = path.relative_to(root / "src").parts[0]
        for kind, header in INCLUDE.findall(path.read_text()):
            check = complaint_of_quoted if kind == '"' else complaint_of_angled
            if said := check(room, header):
                found.append(f"{path.relative_to(root)}: {header}: {room} {said}")
    for path in sorted((root / "include/evenwall").glob("*.hpp")):
        for kind, header in INCLUDE.findall(path.read_text()):
            name = header.removeprefix("evenwall/")
            if kind == '"' and name not in PUBLIC_HEADERS_INCLUDE[path.name]:
                found.append(f"{path.name}: may not include {header}")
            if kind == "<" and not re.match(r"[a-z_0-9]+$", header):
                found.append(f"{path.name}: {header}: the public face knows the standard library only")
    return found


class Layers(unittest.TestCase):
    maxDiff = None

    def test_every_source_is_seen(self):
        self.assertGreater(len(list((ROOT / "src").rglob("*.cpp"))), 30)

    def test_no_room_includes_what_it_may_not(self):
        self.assertEqual([], complaints(ROOT))

    def test_the_check_itself_sees_a_breach(self):
        self.assertIsNotNone(complaint_of_quoted("simulate", "numeric/fft.hpp"))
        self.assertIsNotNone(complaint_of_quoted("numeric", "evenwall/model.hpp"))
        self.assertIsNotNone(complaint_of_quoted("measure", "solve/geometry.hpp"))
        self.assertIsNotNone(complaint_of_angled("report", "nlohmann/json.hpp"))
        self.assertIsNotNone(complaint_of_angled("app", "seccomp.h"))
        self.assertIsNone(complaint_of_angled("files", "seccomp.h"))
        self.assertIsNotNone(complaint_of_angled("solve", "filesystem"))
        self.assertIsNotNone(complaint_of_angled("files", "spawn.h"))
        self.assertIsNotNone(complaint_of_angled("files", "CLI/CLI.hpp"))


if __name__ == "__main__":
    unittest.main()
