# SPDX-License-Identifier: GPL-3.0-or-later
"""Drives whole evenings at the bench: a new session folder, recordings that arrive one by one in a watched folder, a turn after the advice, and its verification.

Usage: evening_study.py PROGRAM [--rigs N] [--first N]
Each rig has random generators, crosstalk and balance. Its gauge is off by 0.05° at each setting. Eight recordings arrive: one is silent, one has its channels
swapped, one is logged 0.7° wrong, and one is a copy of another under a new name. Then the cartridge is turned as the last solution advises, and recorded with
`use` verify. A row of the log is written before its recording.

Exits with 1 unless, for every rig,
 - no verdict `turn` on the way has the wrong direction, if the true turn exceeds 0.05°,
 - the verdict after the turn is `enough`, or the second or third recording after a turn leads to it (a gauge of 0.05° alone makes some fail),
 - the true azimuth at the end lies within 0.02° of the true optimum,
 - `report` makes a page from the last solution.
The true values are those of `simulate`. They are not read by the part that follows the advice.
"""
import argparse
import json
import os
import pathlib
import queue
import random
import shutil
import subprocess
import sys
import tempfile
import threading
import wave

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from recommended_truth import recommended_truth  # noqa: E402

DEMO = json.loads((pathlib.Path(__file__).resolve().parents[2] / "data/demo/scenario.json").read_text())
TILTS = (0, 2, -2, 1, -1, 2, 2, 0.5)
SILENT, SWAPPED, WRONG, COPY = 1, 3, 4, 6  # indices of the recordings with a mistake
LIMIT_S = 120


def simulated(program, scenario, seed, folder):
    (folder.parent / "scenario.json").write_text(json.dumps(scenario))
    subprocess.run([program, "simulate", "--scenario", str(folder.parent / "scenario.json"), "--seed", str(seed), "-o", str(folder), "--quiet"], check=True, stdout=subprocess.DEVNULL)
    return json.loads((folder / "truth.json").read_text())


def scenario_of(draw, tilts, gauge_u):
    scenario = json.loads(json.dumps(DEMO))
    common, shear = draw.uniform(-1.3, 1.3), draw.choice([-1, 1]) * draw.uniform(0.4, 1.2)
    pair = lambda: {"re": draw.uniform(-0.006, 0.006), "im": draw.uniform(-0.004, 0.004)}
    scenario["cartridge"] |= {"generator_error_left_deg": -common + shear, "generator_error_right_deg": -common - shear,
                              "coupling_right_into_left": pair(), "coupling_left_into_right": pair(), "gain_imbalance_db": draw.uniform(-1, 1)}
    scenario["record"]["bands"] = [band | {"duration_s": min(band["duration_s"], 5.4)} for band in scenario["record"]["bands"]]
    return scenario | {"steps": [{"tilt_deg": t} for t in tilts], "gauge_error_u_deg": gauge_u}


def changed(path, change):
    with wave.open(str(path)) as file:
        parameters, frames = file.getparams(), file.readframes(file.getnframes())
    with wave.open(str(path), "wb") as file:
        file.setparams(parameters)
        file.writeframes(change(frames, parameters.sampwidth))


def silenced(frames, _):
    return bytes(len(frames))


def swapped(frames, width):
    out = bytearray(len(frames))
    for byte in range(width):
        out[byte::2 * width], out[width + byte::2 * width] = frames[width + byte::2 * width], frames[byte::2 * width]
    return bytes(out)


class Watch:
    """The program, watching a folder. Its solutions come from a queue."""

    def __init__(self, program, folder):
        self.process = subprocess.Popen([program, "watch", str(folder), "--json"], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                                        stderr=open(folder.parent / "watch.err", "w"), text=True)
        self.folder, self.lines = folder, queue.Queue()
        threading.Thread(target=lambda: [self.lines.put(json.loads(line)) for line in self.process.stdout], daemon=True).start()

    def drop(self, source, row):
        """Adds a row to the log and moves a recording in. Returns the first solution that has seen both, or None if there is no answer."""
        log = self.folder / "steps.csv"
        (self.folder / "log.tmp").write_text(log.read_text() + row + "\n")
        os.rename(self.folder / "log.tmp", log)
        name = row.split(",")[0]
        shutil.copy(source, self.folder / "audio.part")
        os.rename(self.folder / "audio.part", self.folder / name)
        return self.until(name)

    def until(self, name):
        deadline = LIMIT_S
        while True:
            try:
                solution = self.lines.get(timeout=0.25)
            except queue.Empty:
                deadline -= 0.25
                said = (self.folder.parent / "watch.err").read_text()
                if f"{name}: " in said and ("cannot" in said or "no step" in said or "silent" in said) and deadline < LIMIT_S - 3:
                    return None
                if deadline < 0 or self.process.poll() is not None:
                    raise SystemExit(f"watch gave no solution with {name}: {said}")
                continue
            text = json.dumps(solution)
            waits = [w["message"] for w in solution["warnings"] if w["code"] == "step_unreadable" and name in w["message"] and "no such file" in w["message"].lower()]
            if name in text and not waits:
                return solution

    def end(self):
        self.process.send_signal(15)
        return self.process.wait(timeout=20)


def evening(program, seed):
    """Returns the faults of one evening as texts."""
    draw, faults = random.Random(seed), []
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        scenario = scenario_of(draw, TILTS, 0.05)
        truth = simulated(program, scenario, seed, scratch / "made")
        subprocess.run([program, "new", str(scratch / "evening"), "--quiet"], check=True, capture_output=True)
        session = json.loads((scratch / "evening/session.json").read_text())
        (scratch / "evening/session.json").write_text(json.dumps(session | {"cartridge": "Larkspur no. 12", "bands": ["left", "right", "lateral"]}))
        changed(scratch / f"made/step-{SILENT + 1:02}.wav", silenced)
        changed(scratch / f"made/step-{SWAPPED + 1:02}.wav", swapped)
        shutil.copy(scratch / f"made/step-{COPY:02}.wav", scratch / f"made/step-{COPY + 1:02}.wav")
        log = scratch / "evening/steps.csv"
        log.write_text("\n".join(line for line in log.read_text().splitlines() if not line.startswith("capture")) + "\ncapture,tilt_deg,use\n")
        watch, solution = Watch(program, scratch / "evening"), None

        def optimum():
            return recommended_truth(solution["recommended"], truth["least_crosstalk_deg"], truth["equal_crosstalk_deg"])

        def judge(true_deg, where):
            now, verdict = solution["now"], solution["verdict"]["state"]
            true_turn = optimum() - true_deg
            if verdict == "turn" and abs(true_turn) > 0.05 and now["turn_deg"] * true_turn < 0 and solution["tilt_response"]["sense"] != "undecided":
                faults.append(f"{where}: the advice is {now['turn_deg']:+.3f}°, and the true turn {true_turn:+.3f}°")

        true_now = None
        for i, tilt in enumerate(TILTS):
            logged = tilt + (0.7 if i == WRONG else 0)
            came = watch.drop(scratch / f"made/step-{i + 1:02}.wav", f"take-{i + 1}.wav,{logged},yes")
            if came is None:
                continue
            solution = came
            if solution["now"] and solution["now"]["capture"] == f"take-{i + 1}.wav":
                true_now = truth["steps"][i]["true_tilt_deg"]
                judge(true_now, f"take {i + 1}")
        for attempt in (1, 2, 3):
            true_now += solution["now"]["turn_deg"]
            simulated(program, scenario | {"steps": [{"tilt_deg": true_now}], "gauge_error_u_deg": 0}, 1000 * attempt + seed, scratch / f"check-{attempt}")
            read = true_now + draw.gauss(0, 0.05)
            solution = watch.drop(scratch / f"check-{attempt}/step-01.wav", f"check-{attempt}.wav,{read:.2f},verify") or solution
            judge(true_now, f"check {attempt}")
            if solution["verdict"]["state"] == "enough":
                break
        else:
            faults.append(f"the verdict is {solution['verdict']['state']}: {solution['verdict']['text']}")
        if abs(true_now - optimum()) > 0.02:
            faults.append(f"the azimuth is {true_now - optimum():+.4f}° from the optimum")
        if watch.end() != 143:
            faults.append("watch did not end with 143")
        (scratch / "solution.json").write_text(json.dumps(solution))
        page = subprocess.run([program, "report", str(scratch / "solution.json"), "-o", str(scratch / "page.html"), "--quiet"], capture_output=True, text=True)
        if page.returncode != 0 or "We examined Larkspur no. 12" not in (scratch / "page.html").read_text():
            faults.append(f"no page: {page.stderr}")
        print(f"rig {seed}: {true_now - optimum():+.4f}° from the optimum, verdict {solution['verdict']['state']} after {attempt} turn{'s' * (attempt > 1)}",
              *faults, sep="\n  ", flush=True)
    return faults


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("--rigs", type=int, default=100)
    parser.add_argument("--first", type=int, default=1)
    given = parser.parse_args()
    bad = sum(bool(evening(given.program, seed)) for seed in range(given.first, given.first + given.rigs))
    print(f"{given.rigs - bad} of {given.rigs} evenings without a fault")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
