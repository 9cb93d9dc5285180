# SPDX-License-Identifier: GPL-3.0-or-later
"""Solves hard sessions of five steps made with NumPy: crackle, hum, an eccentric warped record, announcements.

Usage: hard_sessions.py PROGRAM [--seeds N] [--only NAME]
The true values come from the rig's exact matrix (synthesise.py). Exits with 1 if a figure leaves its bound.
"""
import argparse
import json
import pathlib
import subprocess
import sys
import tempfile

import numpy as np

import sounds
import synthesise
from synthesise import RATE

TILTS_DEG = (-2.0, -1.0, 0.0, 1.0, 2.0)
PASSAGE_S = 5.0
STARTS_S = (1.5, 8.0)
TOTAL_S = 14.0
WITHOUT_GAUGE = 2  # number of sessions of each kind that are also solved without a stated gauge


class Case:
    """Holds the differences from a clean session."""

    def __init__(self, rpm=100 / 3, level_db=-12.0, wow=0.0015, warp_deg=0.0, pink_db=-45.0, clicks_per_s=0.0, hum_dbfs=None, spoken=False):
        self.rpm, self.level, self.wow, self.warp_deg = rpm, 10 ** (level_db / 20), wow, warp_deg
        self.pink_db, self.clicks_per_s, self.hum_dbfs, self.spoken = pink_db, clicks_per_s, hum_dbfs, spoken


CASES = {
    "crackle": Case(pink_db=-16.0, clicks_per_s=40.0),
    "crackle in an unmodulated groove": Case(pink_db=-45.0, clicks_per_s=40.0),
    "hum": Case(level_db=-20.0, hum_dbfs=-38.0),
    "eccentric": Case(rpm=45.0, wow=0.006, warp_deg=0.25),
    "announcements": Case(spoken=True),
    "silent": Case(),  # the sessions of "announcements" without the announcements
}
# Largest rms error, as a multiple of the bound without clicks. On an unmodulated groove the weighting of frames alone gives 1.9. Only the removal of
# clicks from the samples reaches 1.5.
RATIOS = {"crackle": 1.5, "crackle in an unmodulated groove": 1.5}
# Largest error of each session, in degrees. Announcements are also compared with the same session without them.
LIMITS = {"hum": 0.005, "eccentric": 0.01, "announcements": 0.003, "silent": 0.003}


def add_crackle(x, case, rng):
    """Adds bursts of 0.3 to 2 ms with peaks of 6 to 20 dB above that of the tone, half of them 15 dB or more."""
    n = x.shape[0]
    for at in rng.integers(0, n - 200, rng.poisson(case.clicks_per_s * TOTAL_S)):
        length = int(RATE * rng.uniform(0.0003, 0.002))
        burst = rng.standard_normal(length) * np.exp(-np.arange(length) / (0.3 * length))
        peak_db = rng.uniform(15, 20) if rng.random() < 0.5 else rng.uniform(6, 15)
        burst *= case.level * 10 ** (peak_db / 20) / np.max(np.abs(burst))
        x[at : at + length] += np.outer(burst, rng.uniform(-1, 1, 2))


def capture(rig, case, tilt_deg, record, rng):
    """Returns one capture. `record` is a random generator of its own, the same at every step, for everything that is locked to the groove."""
    n = int(TOTAL_S * RATE)
    x = np.zeros((n, 2))
    t = np.arange(n) / RATE
    cut = rig.cut()
    for start, column in zip(STARTS_S, (0, 1)):
        i0, i1 = int(start * RATE), int((start + PASSAGE_S) * RATE)
        tb = t[i0:i1] - start
        turn = 2 * np.pi * case.rpm / 60 * tb + record.uniform(0, 2 * np.pi)
        speed = 1 + case.wow * np.sin(turn) + 0.0005 * np.sin(2 * np.pi * 7.3 * tb + rng.uniform(0, 6))
        phase = 2 * np.pi * np.cumsum(1000.0 * speed) / RATE + rng.uniform(0, 6)
        s = case.warp_deg * np.cos(turn + 1) / 0.1
        m = [rig.gain @ rig.generator(tilt_deg + d) @ cut[:, column] for d in (-0.1, 0.0, 0.1)]
        fade = np.clip(np.minimum(tb, PASSAGE_S - tb) / 0.02, 0, 1)
        for c in (0, 1):
            z = m[1][c] + s * (m[2][c] - m[0][c]) / 2 + s * s * (m[2][c] + m[0][c] - 2 * m[1][c]) / 2
            x[i0:i1, c] += np.real(z * case.level * fade * np.exp(1j * phase))
    x += np.stack([sounds.pink(rng, n), sounds.pink(rng, n)], 1) * case.level / np.sqrt(2) * 10 ** (case.pink_db / 20)
    if case.clicks_per_s:
        add_crackle(x, case, rng)
    if case.hum_dbfs is not None:
        x += np.outer(sounds.hum(rng, n, 60, 30, 10 ** (case.hum_dbfs / 20)), [1.0, 0.8])
    if case.spoken:
        for at, text in ((0.1, "Left."), (6.6, "Right channel.")):
            s = sounds.espeak(text, speed=170)
            s = 0.3 * s / np.max(np.abs(s))
            i = int(at * RATE)
            s = s[: max(0, int((STARTS_S[0 if at < 1 else 1] - 0.1 - at) * RATE))]
            x[i : i + s.size] += np.outer(s, np.real(rig.gain @ rig.generator(tilt_deg) @ (cut[:, 0] + cut[:, 1])) / 1.4)
    return x


def least_deg(program, rig, case, seed, folder):
    with open(folder / "steps.csv", "w") as log:
        log.write("capture,tilt_deg\n")
        for i, tilt in enumerate(TILTS_DEG):
            x = capture(rig, case, tilt, np.random.default_rng([seed, 2]), np.random.default_rng([seed, 3, i]))
            scale = min(1.0, 0.99 / np.max(np.abs(x)))
            synthesise.write_wav24(folder / f"{i}.wav", np.clip(scale * x, -1, 1 - 2**-23))
            log.write(f"{i}.wav,{tilt}\n")
    session = {"bands": ["left", "right"], "rpm": case.rpm}
    stated = solved(program, folder, {**session, "gauge_u_deg": 0})
    unstated = solved(program, folder, session) if seed <= WITHOUT_GAUGE else stated
    if stated["equal_crosstalk"]["determined"] != unstated["equal_crosstalk"]["determined"]:
        raise SystemExit(f"seed {seed}: equal crosstalk is determined with a stated gauge or without one only: {unstated['equal_crosstalk']['why']}")
    return stated["least_crosstalk"]["tilt_deg"]


def solved(program, folder, session):
    (folder / "session.json").write_text(json.dumps(session))
    done = subprocess.run([program, "solve", "--json", "--quiet", folder], capture_output=True, text=True, timeout=600, check=True)
    return json.loads(done.stdout)


def bound_deg(rig, case):
    """Returns the Cramér-Rao bound of the least-crosstalk tilt in degrees, without clicks. The free parameters are those of docs/method.md: zero and scale
    of the log, complex gain ratio, shear, channels against cuts, two quadratures. Each crosstalk ratio also has two warp harmonics."""
    # One-sided density of the pink noise at 1 kHz. The rms of the tone in the driven channel is level/√2: Var(Re q) = density/(T·A²).
    power = case.level**2 / 2 * 10 ** (case.pink_db / 10)
    density = power / (1000.0 * np.log(RATE / 2 / 20))
    tb = np.linspace(-PASSAGE_S / 2, PASSAGE_S / 2, 2000)
    turn = 2 * np.pi * case.rpm / 60 * tb
    terms = np.stack([np.ones_like(tb), np.cos(turn), np.sin(turn), np.cos(2 * turn), np.sin(2 * turn)], 1)
    warp_cost = np.linalg.inv(terms.T @ terms)[0, 0] * tb.size
    # The parameters start near the true values of this rig, because only the derivatives there count.
    true_least = rig.least_deg()
    m0 = rig.generator(true_least) @ rig.cut()
    gains = np.diag(rig.gain)
    start = np.array([0, 1, 0, np.angle(gains[0]), 0, 0, 0, 0], float)

    def model(p):
        zero, k, ln_beta, arg_beta, sigma, w, s_l, s_r = p
        out = []
        for tilt in TILTS_DEG:
            psi = k * np.radians(tilt) - np.radians(true_least) - zero
            ll, lr = np.cos(psi + w) - 1j * s_l * np.sin(psi + w), np.sin(psi + sigma) + 1j * s_l * np.cos(psi + sigma)
            rl, rr = -np.sin(psi - sigma) + 1j * s_r * np.cos(psi - sigma), np.cos(psi - w) + 1j * s_r * np.sin(psi - w)
            beta = np.exp(ln_beta + 1j * arg_beta)
            out += [beta * lr / rr, rl / (beta * ll)]
        out = np.array(out)
        return np.concatenate([out.real, out.imag])

    # The rig's driven amplitudes follow from its gains and the diagonal of its matrix.
    drive = [case.level * abs(gains[1] * m0[1, 1]), case.level * abs(gains[0] * m0[0, 0])]
    variance = np.tile([warp_cost * density / (PASSAGE_S * a * a) for a in drive], 2 * len(TILTS_DEG))
    shear = np.mean([rig.own_leaks(true_least)[0], rig.own_leaks(true_least)[1]])
    start[4], start[6], start[7] = shear.real, rig.own_leaks(true_least)[0].imag, rig.own_leaks(true_least)[1].imag
    step = 1e-6
    jacobian = np.stack([(model(start + step * e) - model(start - step * e)) / (2 * step) for e in np.eye(8)], 1)
    prior = np.diag([0, 1 / 0.02**2, 0, 1 / np.radians(20) ** 2, 0, 1 / (0.02**2 + shear.real**2), 0, 0])
    information = jacobian.T @ (jacobian / variance[:, None]) + prior
    return np.degrees(np.sqrt(np.linalg.inv(information)[0, 0]))


def rms(x):
    return float(np.sqrt(np.mean(np.square(x))))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--only", choices=sorted(CASES))
    a = parser.parse_args()
    failed, answers = False, {}
    for name, case in CASES.items():
        if a.only and name != a.only and not (a.only == "announcements" and name == "silent"):
            continue
        errors, bounds = [], []
        for seed in range(1, a.seeds + 1):
            rig = synthesise.Rig(np.random.default_rng([seed, 1]))
            with tempfile.TemporaryDirectory() as folder:
                answers[name, seed] = least_deg(a.program, rig, case, seed, pathlib.Path(folder))
            errors.append(answers[name, seed] - rig.least_deg())
            bounds.append(bound_deg(rig, case))
        if name in RATIOS:
            ratio = rms(errors) / rms(bounds)
            print(f"{name}: rms {rms(errors):.5f} deg, bound without clicks {rms(bounds):.5f} deg, ratio {ratio:.2f} (at most {RATIOS[name]}), {a.seeds} seeds", flush=True)
            failed |= not 0.4 < ratio <= RATIOS[name]  # if it is far below 1, the bound itself is wrong
        else:
            print(f"{name}: rms {rms(errors):.5f} deg, worst {max(map(abs, errors)):.5f} (at most {LIMITS[name]}), {a.seeds} seeds", flush=True)
            failed |= not max(map(abs, errors)) < LIMITS[name]
    moves = [abs(answers["announcements", s] - answers["silent", s]) for s in range(1, a.seeds + 1) if ("announcements", s) in answers and ("silent", s) in answers]
    if moves:
        print(f"announcements move the answer by {max(moves):.6f} deg at most (0.003)")
        failed |= max(moves) > 0.003
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
