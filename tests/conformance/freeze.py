#!/usr/bin/env python3
"""Freezes readings and solutions of the ten scenarios of scenarios.py, or holds the program against what was frozen.

freeze.py PROGRAM FOLDER [--only NAME ...]            writes FOLDER/NAME.readings.jsonl and FOLDER/NAME.solution.json
freeze.py PROGRAM FOLDER --check [--only NAME ...]    exits with 1 where a number is off by more than 1e-9 of itself

Readings are made from the simulated captures, solutions from the frozen readings: a change of `measure` and one of `solve` show apart.
"""
import argparse
import json
import math
import pathlib
import subprocess
import sys
import tempfile

from scenarios import SCENARIOS

SEED = 20
RELATIVE = 1e-9
# Below these a number is a difference of larger ones and made of their rounding: shares of an uncertainty, correlations of scatter.
FLOOR = 1e-10
NOT_THE_METHOD = {"made_by", "capture_path", "calibration_path"}


def run(*words):
    """The program's output. A warning or an undetermined answer is an answer too; a usage or internal error is not."""
    done = subprocess.run([str(w) for w in words], capture_output=True, text=True, timeout=300)
    if done.returncode != 0:
        raise SystemExit(f"{' '.join(map(str, words))}: exit {done.returncode}\n{done.stderr}")
    return done.stdout


def readings_of(program, name):
    scenario = SCENARIOS[name] | {"name": name}
    with tempfile.TemporaryDirectory() as scratch:
        folder = pathlib.Path(scratch)
        (folder / "scenario.json").write_text(json.dumps(scenario))
        run(program, "simulate", "--scenario", folder / "scenario.json", "--seed", SEED, "-o", folder / "session", "--quiet")
        lines = []
        for number, step in enumerate(scenario["steps"], 1):
            scale = scenario.get("units_per_deg")
            tilt = ("--tilt-deg", step["tilt_deg"]) if scale is None else ("--tilt-units", step["tilt_deg"] * scale)
            document = json.loads(run(program, "measure", folder / "session" / f"step-{number:02}.wav", *tilt, "--use", step.get("use", "yes"),
                                      "--session", folder / "session" / "session.json", "--json", "--quiet"))
            document["capture"] = f"step-{number:02}.wav"
            lines.append(json.dumps(document))
        return "\n".join(lines) + "\n"


def solution_of(program, readings):
    return run(program, "solve", readings, "--json", "--quiet")


def differences(frozen, now, path=""):
    """Places where two documents differ by more than rounding."""
    if isinstance(frozen, dict) and isinstance(now, dict):
        for key in sorted(frozen.keys() | now.keys()):
            if key not in NOT_THE_METHOD:
                if key not in frozen or key not in now:
                    yield f"{path}/{key}: {'new' if key not in frozen else 'gone'}"
                else:
                    yield from differences(frozen[key], now[key], f"{path}/{key}")
    elif isinstance(frozen, list) and isinstance(now, list):
        if len(frozen) != len(now):
            yield f"{path}: {len(frozen)} -> {len(now)} entries"
        for i, (a, b) in enumerate(zip(frozen, now)):
            yield from differences(a, b, f"{path}/{i}")
    elif isinstance(frozen, (int, float)) and isinstance(now, (int, float)) and not isinstance(frozen, bool):
        if not math.isclose(frozen, now, rel_tol=RELATIVE, abs_tol=FLOOR):
            yield f"{path}: {frozen!r} -> {now!r}"
    elif frozen != now and not (isinstance(frozen, str) and isinstance(now, str)):  # words may be put better
        yield f"{path}: {frozen!r} -> {now!r}"


def check(program, folder, names):
    found = []
    for name in names:
        readings = folder / f"{name}.readings.jsonl"
        for number, (frozen, now) in enumerate(zip(readings.read_text().splitlines(), readings_of(program, name).splitlines()), 1):
            found += differences(json.loads(frozen), json.loads(now), f"{name} reading {number}")
        frozen = json.loads((folder / f"{name}.solution.json").read_text())
        found += differences(frozen, json.loads(solution_of(program, readings)), f"{name} solution")
    print("\n".join(found) if found else f"{len(names)} scenarios as frozen")
    return 1 if found else 0


def freeze(program, folder, names):
    folder.mkdir(parents=True, exist_ok=True)
    for name in names:
        readings = folder / f"{name}.readings.jsonl"
        readings.write_text(readings_of(program, name))
        (folder / f"{name}.solution.json").write_text(solution_of(program, readings))
    print(f"{len(names)} scenarios frozen in {folder}")
    return 0


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program", type=pathlib.Path)
    parser.add_argument("folder", type=pathlib.Path)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--only", nargs="+", choices=SCENARIOS, default=list(SCENARIOS))
    given = parser.parse_args()
    return (check if given.check else freeze)(given.program.resolve(), given.folder, given.only)


if __name__ == "__main__":
    sys.exit(main())
