# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes sessions for tests of the program from scenarios with `evenwall simulate`."""
import json
import pathlib
import subprocess

ROOT = pathlib.Path(__file__).resolve().parents[2]


def short_demo():
    """The demo's scenario with its bands shortened to the time that a crosstalk ratio needs, so that tests run quickly."""
    scenario = json.loads((ROOT / "data/demo/scenario.json").read_text())
    for band in scenario["record"]["bands"]:
        band["duration_s"] = 0.5 if band["band"] is None else 3.8
    return scenario


def simulated(program, session, scenario, seed):
    """Makes the folder `session` from the scenario and returns it. The scenario's file is written beside it."""
    told = session.with_name(f"{session.name}-scenario.json")
    told.write_text(json.dumps(scenario))
    run = subprocess.run([program, "simulate", "--scenario", told, "--seed", str(seed), "-o", session], capture_output=True, text=True, timeout=300)
    assert run.returncode == 0, run.stderr
    return session
