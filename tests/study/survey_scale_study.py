# SPDX-License-Identifier: GPL-3.0-or-later
"""Measures the time and memory of `survey` on a large archive: survey_scale_study.py PROGRAM [solutions] [largest document in bytes].

Makes a folder of solutions on 50 records, five per cartridge, padded with curves to the size of whole solutions. Times the program on a fifth, a half
and all of it. The exit status is 1 if all of it takes over 60 s or 1 GB, if the time grows more than linearly, or if the answer is wrong.
"""
import json
import pathlib
import random
import resource
import subprocess
import sys
import tempfile
import time

PROGRAM = sys.argv[1]
SOLUTIONS = int(sys.argv[2]) if len(sys.argv) > 2 else 100_000
PADDING = int(sys.argv[3]) if len(sys.argv) > 3 else 12_000
RECORDS = 50
EACH = 5
SPREADS = {"cartridge": 0.4, "record": 0.1, "residual": 0.03}


def write_archive(folder):
    draw = random.Random(1)
    record = [draw.gauss(0, SPREADS["record"]) for _ in range(RECORDS)]
    curve = [round(draw.uniform(-60, -20), 12) for _ in range(PADDING // 17)]
    tail = ',"curves":' + json.dumps({"tilt_deg": curve}, separators=(",", ":")) + ',"warnings":[]}'
    for number in range(SOLUTIONS):
        if number % EACH == 0:
            tilt = 0.2 + draw.gauss(0, SPREADS["cartridge"])
            records = draw.sample(range(RECORDS), EACH)
        j = records[number % EACH]
        found = tilt + record[j] + draw.gauss(0, SPREADS["residual"])
        head = {"schema": "evenwall/solution/1",
                "session": {"cartridge": f"C{number // EACH:06d}", "record": f"R{j:02d}", "record_side": "A",
                            "date": f"{2015 + draw.randrange(10)}-{1 + draw.randrange(12):02d}-{1 + draw.randrange(28):02d}"},
                "least_crosstalk": {"tilt_deg": found, "u_deg": 0.03}}
        part = folder / f"{number * 10 // SOLUTIONS}"
        part.mkdir(exist_ok=True)
        (part / f"{number:07d}.json").write_text(json.dumps(head)[:-1] + tail)


def timed(folder, parts):
    started = time.monotonic()
    run = subprocess.run([PROGRAM, "survey", "--json", "--quiet", *(str(folder / str(p)) for p in range(parts))], stdout=subprocess.PIPE, check=True)
    elapsed = time.monotonic() - started
    return elapsed, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024, json.loads(run.stdout)


with tempfile.TemporaryDirectory() as name:
    root = pathlib.Path(name)
    write_archive(root)
    size = sum(p.stat().st_size for p in root.rglob("*.json")) / 1e9
    print(f"{SOLUTIONS} solutions, {size:.2f} GB")
    times = {}
    for parts in (2, 5, 10):
        times[parts], memory, survey = timed(root, parts)
        print(f"{SOLUTIONS * parts // 10:8d} solutions: {times[parts]:6.1f} s, {memory:5.0f} MB; spreads {survey['spread_deg']}")
faults = []
if times[10] > 60:
    faults.append("it took more than 60 s")
if memory > 1000:
    faults.append("it used more than 1 GB")
if times[10] > 1.5 * 5 * times[2]:
    faults.append("the time grows more than linearly")
for key, truth in SPREADS.items():
    # Fifty records determine their spread within 10 %; the limit is three standard errors.
    if abs(survey["spread_deg"][key] / truth - 1) > 0.3:
        faults.append(f"the spread of {key} is {survey['spread_deg'][key]}")
print("; ".join(faults) or "all figures are within their bounds")
sys.exit(1 if faults else 0)
