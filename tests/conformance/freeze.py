#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Freezes the readings and solutions of the ten scenarios of scenarios.py, or compares the program's results with the frozen ones.

freeze.py PROGRAM FOLDER [--only NAME ...]            writes FOLDER/NAME.readings.jsonl, NAME.solution.json and, if it exists, NAME.calibration.json
freeze.py PROGRAM FOLDER --check [--only NAME ...]    exits with 1 if a number differs by more than 1e-9 of itself

Readings are made from the simulated captures, solutions from the frozen readings, so a change of `measure` and one of `solve` show separately.
"""
import argparse
import copy
import json
import math
import pathlib
import subprocess
import sys
import tempfile
import wave

from scenarios import SCENARIOS

SEED = 20
RELATIVE = 1e-9
# A change no larger than this is rounding, whatever the quantity. A standard uncertainty of 10⁻⁵ in crosstalk must still agree to 10⁻⁹ of itself.
FLOOR = 1e-14
# A correlation lies between −1 and 1. A correlation of a thousandth results from noise, and its rounding is 10⁻⁹ of itself.
CORRELATION_FLOOR = 1e-10
NOT_THE_METHOD = {"made_by"}


def run(*words, folder=None):
    """Returns the program's output, also after a warning or an undetermined answer. A usage or internal error ends this script."""
    done = subprocess.run([str(w) for w in words], capture_output=True, text=True, timeout=300, cwd=folder)
    if done.returncode != 0:
        raise SystemExit(f"{' '.join(map(str, words))}: exit {done.returncode}\n{done.stderr}")
    return done.stdout


def simulated(program, scenario, name, folder):
    (folder / f"{name}.json").write_text(json.dumps(scenario | {"name": name}))
    run(program, "simulate", "--scenario", folder / f"{name}.json", "--seed", SEED, "-o", folder / name, "--quiet")
    return folder / name


def readings_of(program, work, scenario, session):
    lines = []
    for number, (step, tilt_deg) in enumerate(zip(scenario["steps"], work.get("logged", [s["tilt_deg"] for s in scenario["steps"]])), 1):
        scale = scenario.get("units_per_deg")
        tilt = ("--tilt-deg", tilt_deg) if scale is None else ("--tilt-units", tilt_deg * scale)
        document = json.loads(run(program, "measure", session / f"step-{number:02}.wav", *tilt, "--use", step.get("use", "yes"), "--session",
                                  session / "session.json", "--json", "--quiet"))
        document["capture"] = f"step-{number:02}.wav"
        lines.append(json.dumps(document, ensure_ascii=False, separators=(",", ":")))
    return "\n".join(lines) + "\n"


def with_leads_swapped(scenario):
    """Returns the scenario with leads swapped between cartridge and electronics: the outputs are exchanged, and so are the electronics' channels."""
    swapped = copy.deepcopy(scenario)
    (a, b), (c, d) = scenario["cartridge"]["electronics"]
    swapped["cartridge"] |= {"electronics": [[d, c], [b, a]], "channels_swapped": True}
    return swapped


def into_one_recording(sessions, steps, swapped):
    """Joins the steps' captures into one file in the first session. Captures with swapped leads come from the second session."""
    log, at_s, whole = ["capture,tilt_deg,from_s,to_s,leads"], 0.0, bytearray()
    for number, step in enumerate(steps):
        with wave.open(str(sessions[number in swapped] / f"step-{number + 1:02}.wav")) as capture:
            parameters = capture.getparams()
            whole += capture.readframes(capture.getnframes())
        to_s = len(whole) / (2 * parameters.sampwidth) / parameters.framerate
        log.append(f"whole.wav,{step['tilt_deg']},{at_s},{to_s},{'swapped' if number in swapped else 'straight'}")
        at_s = to_s
    with wave.open(str(sessions[0] / "whole.wav"), "wb") as capture:
        capture.setparams(parameters)
        capture.writeframes(bytes(whole))
    (sessions[0] / "steps.csv").write_text("\n".join(log) + "\n")


def thinned(solution):
    """Keeps every twelfth point of the chart's curves, because all points follow from the same few numbers."""
    document = json.loads(solution)
    del document["source"]  # the name of a scratch file
    document["curves"] = {key: value[::12] if isinstance(value, list) else value for key, value in document["curves"].items()}
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")) + "\n"


def documents_of(program, name, frozen=None):
    """Returns file ending -> text of every document of one scenario. Solves the frozen readings if there are any."""
    work, out = SCENARIOS[name], {}
    with tempfile.TemporaryDirectory() as scratch:
        folder = pathlib.Path(scratch)
        if "meter" in work:
            (folder / "meter.csv").write_text(work["meter"])
            return {"solution.json": thinned(run(program, "solve", folder / "meter.csv", "--json", "--quiet"))}
        session = simulated(program, work["scenario"], name, folder)
        calibration = ()
        if "calibrate" in work:
            injected = simulated(program, work["calibrate"], "injected", folder)
            out["calibration.json"] = run(program, "calibrate", injected / "step-01.wav", "--json", "--quiet")
            (folder / "calibration.json").write_text((frozen or out)["calibration.json"])
            calibration = ("--calibration", "calibration.json")
        if "one_recording" in work:
            swapped = simulated(program, with_leads_swapped(work["scenario"]), "swapped", folder)
            into_one_recording((session, swapped), work["scenario"]["steps"], work["leads_swapped"])
            source = session
        else:
            out["readings.jsonl"] = readings_of(program, work, work["scenario"], session)
            source = folder / "readings.jsonl"
            source.write_text((frozen or out)["readings.jsonl"])
        out["solution.json"] = thinned(run(program, "solve", source, *calibration, "--json", "--quiet", folder=folder))
    return out


def endings_of(name):
    work = SCENARIOS[name]
    return [e for e, here in (("calibration.json", "calibrate" in work), ("readings.jsonl", "meter" not in work and "one_recording" not in work),
                              ("solution.json", True)) if here]


def differences(frozen, now, path=""):
    """Yields the places where two documents differ by more than rounding."""
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
        floor = CORRELATION_FLOOR if path.endswith("/correlation") else FLOOR
        if not math.isclose(frozen, now, rel_tol=RELATIVE, abs_tol=floor):
            yield f"{path}: {frozen!r} -> {now!r}"
    elif frozen != now and not (isinstance(frozen, str) and isinstance(now, str)):  # the wording may change
        yield f"{path}: {frozen!r} -> {now!r}"


def check(program, folder, names):
    found = []
    for name in names:
        frozen = {ending: (folder / f"{name}.{ending}").read_text() for ending in endings_of(name)}
        now = documents_of(program, name, frozen)
        for ending, text in frozen.items():
            before, after = text.splitlines(), now[ending].splitlines()
            if ending != "readings.jsonl":
                before, after = [text], [now[ending]]
            if len(before) != len(after):
                found.append(f"{name}.{ending}: {len(before)} -> {len(after)} readings")
            for number, (a, b) in enumerate(zip(before, after), 1):
                found += differences(json.loads(a), json.loads(b), f"{name} {ending.split('.')[0]}" + (f" {number}" if len(before) > 1 else ""))
    print("\n".join(found) if found else f"{len(names)} scenarios give the frozen results")
    return 1 if found else 0


def freeze(program, folder, names):
    folder.mkdir(parents=True, exist_ok=True)
    for name in names:
        for ending, text in documents_of(program, name).items():
            (folder / f"{name}.{ending}").write_text(text)
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
