# SPDX-License-Identifier: GPL-3.0-or-later
"""Sessions for tests of the program: scenarios played by `evenwall simulate`."""
import json
import pathlib
import subprocess

ROOT = pathlib.Path(__file__).resolve().parents[2]


def short_demo():
    """The demo's scenario with its bands cut to what a leak needs, so that a test need not wait."""
    scenario = json.loads((ROOT / "data/demo/scenario.json").read_text())
    for band in scenario["record"]["bands"]:
        band["duration_s"] = 0.5 if band["band"] is None else 3.8
    return scenario


def simulated(program, session, scenario, seed):
    """The folder `session`, made of the scenario; the scenario's file stands beside it."""
    told = session.with_name(f"{session.name}-scenario.json")
    told.write_text(json.dumps(scenario))
    run = subprocess.run([program, "simulate", "--scenario", told, "--seed", str(seed), "-o", session], capture_output=True, text=True, timeout=300)
    assert run.returncode == 0, run.stderr
    return session
