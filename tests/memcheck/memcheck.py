# SPDX-License-Identifier: GPL-3.0-or-later
"""memcheck.py FOLDER PROGRAM [NAME ...]: runs valgrind's memcheck over the test programs and the fuzz corpora in FOLDER (a build's folder `tests`) and over
the commands of evenwall on the demo session, two at a time, or those whose names are given. Prints a line for each, and exits with 1 if memcheck or a test finds an error."""
import concurrent.futures
import os
import pathlib
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
TESTS, PROGRAM, NAMES = pathlib.Path(sys.argv[1]), sys.argv[2], sys.argv[3:]
VALGRIND = ["valgrind", "-q", "--error-exitcode=99", "--leak-check=full", "--errors-for-leak-kinds=definite"]
# Memcheck computes with doubles of 64 bits where cases of the first two need the digits of long doubles of 80 bits, and it does not pass on the
# system call of the confinement.
WITHOUT = {
    "test_unit_numeric": ["From a hundred degrees of freedom on*", "With nearly collinear columns and large residuals*"],
    "test_published": ["NIST linear sets are solved to the required digits by the dense*"],
    "test_unit_sandbox": ["A confined process*", "New and unknown system calls*"],
}


def commands(folder):
    """Returns the name and the command of each run, the longest first."""
    runs = []
    for test in sorted(TESTS.glob("test_*")):
        if test.is_file() and os.access(test, os.X_OK):
            runs.append((test.name, [test, *(["*"] if test.name in WITHOUT else []), *(f"~{case}" for case in WITHOUT.get(test.name, []))]))
    for fuzz in sorted((TESTS / "fuzz").glob("fuzz_*")):
        if fuzz.is_file() and os.access(fuzz, os.X_OK):
            runs.append((fuzz.name, [fuzz, "--slow", ROOT / "tests/fuzz/corpus" / fuzz.name.removeprefix("fuzz_")]))
    solutions = [pathlib.Path(folder) / f"solution-{seed}.json" for seed in (1, 2)]
    for seed, solution in enumerate(solutions, 1):
        session = pathlib.Path(folder) / f"session-{seed}"
        words = ["--scenario", ROOT / "data/demo/scenario.json", "--seed", str(seed), "-o", session]
        subprocess.run([PROGRAM, "simulate", *words], check=True, capture_output=True)
        solution.write_bytes(subprocess.run([PROGRAM, "solve", session, "--json"], check=True, capture_output=True).stdout)
    recordings = sorted(session.glob("*.wav"))
    runs += [
        ("evenwall measure", [PROGRAM, "measure", recordings[0], "--json"]),
        ("evenwall solve", [PROGRAM, "solve", session]),
        ("evenwall report", [PROGRAM, "report", solutions[0], "-o", pathlib.Path(folder) / "page.html"]),
        ("evenwall survey", [PROGRAM, "survey", *solutions]),
        ("evenwall simulate", [PROGRAM, "simulate", "--scenario", ROOT / "data/demo/scenario.json", "-o", pathlib.Path(folder) / "again"]),
    ]
    return sorted(runs, key=lambda run: run[0] not in ("test_unit_solve", "test_truth", "test_unit_measure"))


def checked(name, command):
    started = time.monotonic()
    run = subprocess.run(VALGRIND + [str(part) for part in command], capture_output=True, text=True, errors="replace", env={**os.environ, "EVENWALL_SANITIZED": "1"})
    print(f"{name}: {'no error' if run.returncode == 0 else f'exit status {run.returncode}'}, {time.monotonic() - started:.0f} s", flush=True)
    if run.returncode != 0:
        print("\n".join((run.stdout + run.stderr).splitlines()[-60:]), flush=True)
    return run.returncode == 0


def main():
    with tempfile.TemporaryDirectory(prefix="evenwall-memcheck-") as folder, concurrent.futures.ThreadPoolExecutor(2) as pool:
        runs = [run for run in commands(folder) if not NAMES or run[0] in NAMES]
        good = list(pool.map(lambda run: checked(*run), runs))
    print(f"memcheck: {sum(good)} of {len(good)} runs without an error")
    return 0 if good and all(good) else 1


if __name__ == "__main__":
    sys.exit(main())
