# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests that the frozen results hold if the C library uses its sines and exponentials for less capable processors. Usage: processors_test.py PROGRAM FROZEN

FFTW queries the processor itself and is not varied here. The bytes of a document are guaranteed on one processor only (docs/reliability.md, 4). Its
numbers are guaranteed on all, to 1e-9 of themselves.
"""
import os
import pathlib
import platform
import subprocess
import sys
import unittest

PROGRAM, FROZEN = sys.argv.pop(1), sys.argv.pop(1)
FREEZE = pathlib.Path(__file__).resolve().parent / "freeze.py"
# The names are those of the chapter on tunables in glibc's manual. Every x86-64 processor has SSE2.
SETTINGS = {"no AVX-512": "-AVX512F,-AVX512VL,-AVX512DQ", "no FMA": "-FMA,-FMA4", "SSE2 only": "-AVX512F,-AVX2,-FMA,-FMA4,-AVX"}
# A sanitizer runs the same code under each setting, and it is ten to twenty times slower.
TRIED = ["SSE2 only"] if "EVENWALL_SANITIZED" in os.environ else list(SETTINGS)
LIBM = "import math; print([(math.sin(k / 7).hex(), math.exp(k / 900).hex(), math.log(k).hex()) for k in range(1, 9000)])"


def under(setting):
    return {**os.environ, "GLIBC_TUNABLES": f"glibc.cpu.hwcaps={setting}"}


def libm(env):
    return subprocess.run([sys.executable, "-c", LIBM], env=env, capture_output=True, text=True, timeout=60, check=True).stdout


class Processors(unittest.TestCase):
    def test_frozen_results_hold_under_each_setting(self):
        if platform.machine() != "x86_64":
            self.skipTest("the settings exist only on x86-64")
        for name in TRIED:
            with self.subTest(name):
                done = subprocess.run([sys.executable, FREEZE, PROGRAM, FROZEN, "--check"], env=under(SETTINGS[name]), capture_output=True, text=True,
                                      timeout=600)
                self.assertEqual(0, done.returncode, done.stdout + done.stderr)

    def test_the_setting_takes_effect(self):
        """Python's own mathematical functions give other results if the processor has the features that the setting disables."""
        if platform.machine() != "x86_64" or " fma " not in pathlib.Path("/proc/cpuinfo").read_text():
            self.skipTest("this processor does not have the features that the setting disables")
        self.assertNotEqual(libm(dict(os.environ)), libm(under(SETTINGS["SSE2 only"])))


if __name__ == "__main__":
    unittest.main()
