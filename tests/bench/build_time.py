#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Measures the processor time of a first build of the program, in units of a reference compilation in the same run.

build_time.py [TREE ...]     The default is this tree. Name another checkout beside it to compare two states.

The reference is reference_compile.cpp at -O3. Both are timed without a compiler cache, in new folders, with as many jobs as there are
processors. Other work on the machine disturbs both alike, so compare the ratios.
"""
import os
import pathlib
import resource
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
ENVIRONMENT = {**{k: v for k, v in os.environ.items() if not k.startswith("CMAKE_")}, "CCACHE_DISABLE": "1"}


def processor_s(*command):
    """Returns the user and system time of the command and of all processes that it starts."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    run = subprocess.run([str(word) for word in command], env=ENVIRONMENT, capture_output=True, text=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if run.returncode != 0:
        sys.exit(f"{' '.join(map(str, command))}\n{run.stdout[-2000:]}{run.stderr[-2000:]}")
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main():
    trees = [pathlib.Path(word).resolve() for word in sys.argv[1:]] or [HERE.parents[1]]
    with tempfile.TemporaryDirectory() as folder:
        source = HERE / "reference_compile.cpp"
        reference_s = processor_s("g++", "-std=c++20", "-O3", "-I/usr/include/eigen3", "-c", source, "-o", f"{folder}/reference.o")
        print(f"reference compilation: {reference_s:.1f} s of processor")
        for number, tree in enumerate(trees):
            build = f"{folder}/build-{number}"
            processor_s("cmake", "-S", tree, "-B", build, "-G", "Ninja", "-DCMAKE_BUILD_TYPE=Release", "-DBUILD_TESTING=OFF")
            built_s = processor_s("cmake", "--build", build, "--target", "evenwall_program")
            name = subprocess.run(["git", "-C", tree, "log", "-1", "--format=%h %s"], capture_output=True, text=True).stdout.strip()
            print(f"first build of {name or tree.name}: {built_s:.0f} s of processor, {built_s / reference_s:.2f} times the reference")


main()
