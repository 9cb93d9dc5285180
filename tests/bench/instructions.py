# SPDX-License-Identifier: GPL-3.0-or-later
"""How many instructions measure() takes against one sf_readf_float pass over the same two minutes, and solve() for 1,000 steps against 250, by
callgrind: the same on every run, so that a change that costs time shows in CI, however busy the machine is.

usage: instructions.py MEASURE_PASS READ_PASS SOLVE_PASS
Exits with 1 where a ratio leaves its bound."""
import pathlib
import re
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import bench_capture  # noqa: E402

# 0.73 with g++ 12 -O3 on Debian 12; a tenth above it for other libraries.
MOST = 0.80
# Four times the steps: linear is 4, and 3.6 was counted with g++ 12 on Debian 12; a term that grows with the square passes the bound long before it is all there is.
MOST_FOR_FOUR_TIMES_THE_STEPS = 6


def instructions(command):
    done = subprocess.run(["valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null", *map(str, command)], stdout=subprocess.DEVNULL,
                          stderr=subprocess.PIPE, text=True)
    if done.returncode != 0:
        raise SystemExit(f"failed with {done.returncode}: {' '.join(map(str, command))}\n{done.stderr}")
    return int(re.search(r"Collected : (\d+)", done.stderr)[1])


def main():
    measure_pass, read_pass, solve_pass = sys.argv[1:]
    good = True
    if " avx2" in pathlib.Path("/proc/cpuinfo").read_text():
        with tempfile.TemporaryDirectory() as folder:
            capture = pathlib.Path(folder) / "two-minutes.wav"
            bench_capture.write_capture(capture, 120)
            pass_over, measure = instructions([read_pass, capture]), instructions([measure_pass, capture])
        print(f"measure {measure / 1e6:.1f} million, one pass {pass_over / 1e6:.1f} million: {measure / pass_over:.3f} x, at most {MOST}")
        good = measure <= MOST * pass_over
    else:
        print("no AVX2 here, for whose kernels the bound of measure was taken: only solve is counted")
    for gauge in ("stated", "unstated"):
        for log in ("right", "wrong"):
            quarter, whole = (instructions([solve_pass, steps, gauge, log]) for steps in (250, 1000))
            print(f"solve, gauge {gauge}, log {log}: 250 steps {quarter / 1e6:.1f} million, 1,000 steps {whole / 1e6:.1f} million: "
                  f"{whole / quarter:.2f} x, at most {MOST_FOR_FOUR_TIMES_THE_STEPS}")
            good = good and whole <= MOST_FOR_FOUR_TIMES_THE_STEPS * quarter
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
