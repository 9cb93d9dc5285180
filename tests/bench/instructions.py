# SPDX-License-Identifier: GPL-3.0-or-later
"""How many instructions measure() takes against one sf_readf_float pass over the same two minutes, by callgrind: the same on every run, so that
a change that costs time shows in CI, however busy the machine is.

usage: instructions.py MEASURE_PASS READ_PASS
Exits with 1 where the ratio leaves its bound, with 77 (skipped) on a processor without AVX2, for whose kernels no bound was taken."""
import pathlib
import re
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import bench_capture  # noqa: E402

# 0.73 with g++ 12 -O3 on Debian 12; a tenth above it for other libraries.
MOST = 0.80


def instructions(command):
    done = subprocess.run(["valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null", *map(str, command)], stdout=subprocess.DEVNULL,
                          stderr=subprocess.PIPE, text=True)
    if done.returncode != 0:
        raise SystemExit(f"failed with {done.returncode}: {' '.join(map(str, command))}\n{done.stderr}")
    return int(re.search(r"Collected : (\d+)", done.stderr)[1])


def main():
    measure_pass, read_pass = sys.argv[1:]
    if " avx2" not in pathlib.Path("/proc/cpuinfo").read_text():
        print("no AVX2 here: not measured")
        return 77
    with tempfile.TemporaryDirectory() as folder:
        capture = pathlib.Path(folder) / "two-minutes.wav"
        bench_capture.write_capture(capture, 120)
        pass_over, measure = instructions([read_pass, capture]), instructions([measure_pass, capture])
    print(f"measure {measure / 1e6:.1f} million, one pass {pass_over / 1e6:.1f} million: {measure / pass_over:.3f} x, at most {MOST}")
    return 0 if measure <= MOST * pass_over else 1


if __name__ == "__main__":
    sys.exit(main())
