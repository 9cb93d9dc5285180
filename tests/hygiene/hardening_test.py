# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks the program's protections against memory faults in its ELF file: hardening_test.py PROGRAM"""
import re
import struct
import subprocess
import sys
import unittest

PROGRAM = sys.argv.pop(1)
DYNAMIC, GNU_STACK, GNU_RELRO = 2, 0x6474E551, 0x6474E552
SHARED_OBJECT, EXECUTABLE = 3, 1
RPATH, BIND_NOW, FLAGS, RUNPATH, FLAGS_1 = 15, 24, 30, 29, 0x6FFFFFFB
NOW, FLAGS_NOW, FLAGS_PIE = 1, 8, 0x08000000
# Symbol of libstdc++'s checked containers. A program without them does not import it.
ASSERTION = "_ZSt21__glibcxx_assert_failPKciS0_S0_"
PAGE = 4096
X86_64 = 62


class Elf:
    """The headers of a 64-bit little-endian ELF file, and its dynamic section."""

    def __init__(self, path):
        with open(path, "rb") as file:
            self.bytes = file.read()
        assert self.bytes[:6] == b"\x7fELF\x02\x01", "this is not a little-endian ELF file of 64 bits"
        self.type, self.machine = struct.unpack_from("<HH", self.bytes, 16)
        at, = struct.unpack_from("<Q", self.bytes, 32)
        size, count = struct.unpack_from("<HH", self.bytes, 54)
        self.segments = [struct.unpack_from("<IIQQQQQQ", self.bytes, at + i * size) for i in range(count)]
        self.dynamic = dict(self.entries())

    def segment(self, kind):
        return next((s for s in self.segments if s[0] == kind), None)

    def entries(self):
        _, _, offset, _, _, size, _, _ = self.segment(DYNAMIC)
        for tag, value in struct.iter_unpack("<QQ", self.bytes[offset:offset + size]):
            yield tag, value


def readelf(*words):
    return subprocess.run(["readelf", "-W", *words, PROGRAM], capture_output=True, text=True, check=True, env={"LC_ALL": "C"}).stdout


def disassembly():
    return subprocess.run(["objdump", "-d", "--no-show-raw-insn", PROGRAM], capture_output=True, text=True, check=True).stdout


class Hardening(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.elf = Elf(PROGRAM)
        cls.imported = set(re.findall(r" UND ([^@\s]+)", readelf("--dyn-syms")))

    def test_the_addresses_of_the_program_differ_between_runs(self):
        self.assertEqual(SHARED_OBJECT, self.elf.type)
        self.assertTrue(self.elf.dynamic.get(FLAGS_1, 0) & FLAGS_PIE)

    def test_tables_of_addresses_are_read_only(self):
        self.assertIsNotNone(self.elf.segment(GNU_RELRO))
        self.assertTrue(BIND_NOW in self.elf.dynamic or self.elf.dynamic.get(FLAGS, 0) & FLAGS_NOW)
        self.assertTrue(self.elf.dynamic.get(FLAGS_1, 0) & NOW)

    def test_no_memory_is_writable_and_executable(self):
        stack = self.elf.segment(GNU_STACK)
        self.assertIsNotNone(stack, "the kernel would make the stack executable")
        self.assertFalse(stack[1] & EXECUTABLE)
        self.assertEqual([], [s for s in self.elf.segments if s[1] & 3 == 3])

    def test_stacks_are_guarded(self):
        self.assertIn("__stack_chk_fail", self.imported)

    def test_buffers_passed_to_the_c_library_are_checked(self):
        checked = {name for name in self.imported if re.fullmatch(r"__\w+_chk", name)} - {"__stack_chk_fail"}
        self.assertTrue(checked, self.imported)

    def test_containers_are_checked(self):
        self.assertIn(ASSERTION, self.imported)

    def test_large_frames_touch_each_page(self):
        """Each page of a large frame has a store that changes nothing (`or $0`), so that a stack cannot jump over its guard page."""
        if self.elf.machine != X86_64:
            self.skipTest("the probe can be checked only on x86-64")
        probe = rf"sub +\$0x{PAGE:x},%rsp\s+[0-9a-f]+:\s+or[ql] +\$0x0,"
        self.assertRegex(disassembly(), probe)

    def test_the_code_of_the_program_has_marks_for_indirect_branches(self):
        """The linker notes the marks of the whole program only if every linked file has them, also Debian's start files. The note is printed, not required."""
        if self.elf.machine != X86_64:
            self.skipTest("the mark can be checked only on x86-64")
        code = disassembly()
        functions = re.findall(r"^[0-9a-f]+ <_ZN8evenwall[^>@]*>:\n\s*[0-9a-f]+:\s+(\S+)", code, re.M)
        if functions:  # not stripped
            self.assertGreater(functions.count("endbr64"), 100)
        self.assertGreater(len(re.findall(r"\bendbr64\b", code)), 1000)
        print("note of the whole program:", re.findall(r"x86 feature: .*", readelf("-n")) or "none")

    def test_libraries_are_loaded_only_from_the_folders_of_the_system(self):
        self.assertNotIn(RPATH, self.elf.dynamic)
        self.assertNotIn(RUNPATH, self.elf.dynamic)


if __name__ == "__main__":
    unittest.main()
