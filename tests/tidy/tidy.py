# SPDX-License-Identifier: GPL-3.0-or-later
"""tidy.py CMAKE FOLDER [PART...]: clang-tidy with the repository's .clang-tidy over every source of src (of whose name a PART is part, if any is given), a file
for each processor at a time. Ends with 1 where it finds anything.
FOLDER is configured without unity, so that it has a command for each file."""
import concurrent.futures
import os
import pathlib
import shutil
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
CMAKE, BUILD = sys.argv[1:3]
TOOL = shutil.which("clang-tidy-14") or shutil.which("clang-tidy")


def main():
    if TOOL is None:
        sys.exit("tidy: clang-tidy is not installed (apt-get install clang-tidy-14)")
    sources = sorted((ROOT / "src").rglob("*.cpp"))
    wanted = sys.argv[3:]
    if wanted:
        sources = [p for p in sources if any(w in str(p.relative_to(ROOT)) for w in wanted)]
    if not sources:
        sys.exit("tidy: no source")
    os.nice(10)
    subprocess.run([CMAKE, "-S", ROOT, "-B", BUILD, "-G", "Ninja", "-DCMAKE_BUILD_TYPE=Release", "-DBUILD_TESTING=OFF", "-DEVENWALL_UNITY=OFF",
                    "-DCMAKE_EXPORT_COMPILE_COMMANDS=ON"], check=True, stdout=subprocess.DEVNULL)
    subprocess.run([CMAKE, "--build", BUILD, "--target", "call_filter"], check=True, stdout=subprocess.DEVNULL)  # a header that is made
    found = 0
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        runs = pool.map(lambda path: subprocess.run([TOOL, "--quiet", "-p", BUILD, path], capture_output=True, text=True), sources)
        for number, (path, run) in enumerate(zip(sources, runs), 1):
            said = [line for line in run.stdout.splitlines() if line]
            print(f"[{number}/{len(sources)}] {path.relative_to(ROOT)}{'' if not said and run.returncode == 0 else ': found'}", flush=True)
            if said or run.returncode != 0:
                found += 1
                print(run.stdout, run.stderr if run.returncode != 0 else "", flush=True)
    print(f"tidy: {found} of {len(sources)} files with findings")
    return 1 if found else 0


sys.exit(main())
