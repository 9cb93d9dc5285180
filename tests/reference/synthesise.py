#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes a session of captures with NumPy, independently of the project's own simulator.

synthesise.py OUT --seed N [--passage-s 5.4] [--plain]   writes OUT/step-N.wav, steps.csv, session.json and truth.json

It computes the geometry by vectors, the tones by the analytic signal of a warped time axis, and white noise. Everything that belongs to the groove (wow,
warp, cut) is the same at every step. scipy finds the true minimum and roots on the exact matrix.
"""
import argparse
import json
import os

import numpy as np
import scipy.io.wavfile
import scipy.optimize

RATE = 48000
REVOLUTION_S = 1.8


def rotate_clockwise(v, angle_deg):
    a = np.radians(angle_deg)
    return np.array([v[0] * np.cos(a) + v[1] * np.sin(a), -v[0] * np.sin(a) + v[1] * np.cos(a)])


U_LEFT = np.array([1, 1]) / np.sqrt(2)
U_RIGHT = np.array([1, -1]) / np.sqrt(2)


class Rig:
    def __init__(self, rng):
        common, shear = rng.uniform(-1.2, 1.2), rng.uniform(0.15, 1.5) * rng.choice([-1, 1])
        self.delta = (-common + shear, -common - shear)
        self.kappa = tuple(rng.uniform(-0.4, 0.4, 2))
        self.coupling = np.eye(2, dtype=complex)
        self.coupling[0, 1] = rng.uniform(1e-3, 8e-3) * np.exp(1j * rng.uniform(-np.pi, np.pi))
        self.coupling[1, 0] = rng.uniform(1e-3, 8e-3) * np.exp(1j * rng.uniform(-np.pi, np.pi))
        self.gain = np.diag([10 ** (rng.uniform(-1, 1) / 20) * np.exp(1j * rng.uniform(-0.05, 0.05)), 1.0])

    def generator(self, tilt_deg):
        """Rows: outputs left and right; columns: stylus motion along x and y."""
        return self.coupling @ np.array([rotate_clockwise(U_LEFT, tilt_deg + self.delta[0]), rotate_clockwise(U_RIGHT, tilt_deg + self.delta[1])])

    def cut(self):
        """Columns: stylus motion of a left-only and a right-only groove."""
        return np.array([rotate_clockwise(U_LEFT, self.kappa[0]), rotate_clockwise(U_RIGHT, self.kappa[1])]).T

    def own_leaks(self, tilt_deg):
        m = self.generator(tilt_deg) @ self.cut()
        return m[0, 1] / m[0, 0], m[1, 0] / m[1, 1]

    def least_deg(self):
        f = lambda t: sum(abs(x) ** 2 for x in self.own_leaks(t))
        return scipy.optimize.minimize_scalar(f, bounds=(-6, 6), method="bounded", options={"xatol": 1e-10}).x

    def equal_deg(self, near):
        f = lambda t: abs(self.own_leaks(t)[0]) ** 2 - abs(self.own_leaks(t)[1]) ** 2
        grid = np.arange(-8, 8, 0.02)
        values = [f(t) for t in grid]
        roots = [scipy.optimize.brentq(f, a, b, xtol=1e-12) for a, b, fa, fb in zip(grid, grid[1:], values, values[1:]) if fa * fb < 0]
        return min(roots, key=lambda r: abs(r - near)) if roots else None


def groove(rng, passage_s):
    """Returns the bands of the record, each with its own place along the groove, and their total length in seconds."""
    bands, at = [], 2.0
    for kind, length in (("left", passage_s), ("right", passage_s), ("lateral", 3.0)):
        bands.append({"kind": kind, "start": at, "length": length, "turn": rng.uniform(0, 2 * np.pi)})
        at += length + 1.2
    return bands, at


def capture(rig, bands, total_s, tilt_deg, rng, plain):
    n = int(total_s * RATE)
    t = np.arange(n) / RATE
    out = np.zeros((n, 2))
    amplitude, frequency = 10 ** (-12 / 20), 1000.0
    cut = rig.cut()
    for band in bands:
        i0, i1 = int(band["start"] * RATE), int((band["start"] + band["length"]) * RATE)
        tb = t[i0:i1] - band["start"]
        turn = 2 * np.pi * tb / REVOLUTION_S + band["turn"]
        wow = np.zeros_like(tb) if plain else 0.0015 * np.sin(turn)
        flutter = 0.0 if plain else 0.0005 * np.sin(2 * np.pi * rng.uniform(5, 9) * tb + rng.uniform(0, 6))
        phase = 2 * np.pi * np.cumsum(frequency * (1 + wow + flutter)) / RATE + rng.uniform(0, 6)
        lean = 0.0 if plain else 0.08 * np.cos(turn + 1.0)
        motion = {"left": cut[:, 0], "right": cut[:, 1], "lateral": cut[:, 0] + cut[:, 1]}[band["kind"]]
        # To first order a lean of the groove is a tilt of the cartridge: the exact matrix at three leans is interpolated by a parabola.
        m = [rig.gain @ rig.generator(tilt_deg + d) @ motion for d in (-0.1, 0.0, 0.1)]
        s = np.asarray(lean) / 0.1
        z = np.array([m[1][c] + s * (m[2][c] - m[0][c]) / 2 + s * s * (m[2][c] + m[0][c] - 2 * m[1][c]) / 2 for c in (0, 1)])
        fade = np.clip(np.minimum(tb, band["length"] - tb) / 0.03, 0, 1)
        tone = amplitude * fade * np.exp(1j * phase)
        for c in (0, 1):
            distorted = 0 if plain else 0.01 * np.real(np.exp(2j * phase)) * abs(z[c]) * amplitude * fade
            out[i0:i1, c] += np.real(z[c] * tone) + distorted
    noise_rms = amplitude / np.sqrt(2) * 10 ** (-42 / 20)
    out += noise_rms * rng.standard_normal((n, 2))
    if not plain:
        for at in rng.uniform(0, total_s - 0.01, rng.poisson(2 * total_s)):
            length = int(RATE * rng.uniform(0.0003, 0.002))
            burst = rng.standard_normal(length) * np.exp(-np.arange(length) / (0.3 * length))
            gain = amplitude * 10 ** (rng.normal(6, 4) / 20)
            out[int(at * RATE) : int(at * RATE) + length] += np.outer(gain * burst, rng.uniform(-1, 1, 2))
        for k in range(1, 6):
            out += (amplitude * 10 ** (-45 / 20) / k * np.sin(2 * np.pi * 50 * k * t + rng.uniform(0, 6)))[:, None] * np.array([1.0, 0.9])
    return np.clip(out, -1, 1 - 2**-23)


def write_wav24(path, x):
    data = np.round(x * 2**23).astype("<i4")
    raw = data.view(np.uint8).reshape(-1, 4)[:, :3].tobytes()
    header = b"RIFF" + (36 + len(raw)).to_bytes(4, "little") + b"WAVEfmt " + (16).to_bytes(4, "little") + (1).to_bytes(2, "little") + (2).to_bytes(2, "little")
    header += RATE.to_bytes(4, "little") + (RATE * 6).to_bytes(4, "little") + (6).to_bytes(2, "little") + (24).to_bytes(2, "little") + b"data" + len(raw).to_bytes(4, "little")
    with open(path, "wb") as f:
        f.write(header + raw)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("out")
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--passage-s", type=float, default=5.4)
    parser.add_argument("--plain", action="store_true", help="tones and noise only: no wow, warp, clicks, hum, distortion")
    parser.add_argument("--tilts", default="-2,-1,0,1,2")
    a = parser.parse_args()
    os.makedirs(a.out, exist_ok=True)
    rig = Rig(np.random.default_rng([a.seed, 1]))
    bands, total_s = groove(np.random.default_rng([a.seed, 2]), a.passage_s)
    tilts = [float(x) for x in a.tilts.split(",")]
    with open(os.path.join(a.out, "steps.csv"), "w") as log:
        log.write("capture,tilt_deg\n")
        for i, tilt in enumerate(tilts):
            x = capture(rig, bands, total_s, tilt, np.random.default_rng([a.seed, 3, i]), a.plain)
            write_wav24(os.path.join(a.out, f"step-{i + 1}.wav"), x)
            log.write(f"step-{i + 1}.wav,{tilt}\n")
    with open(os.path.join(a.out, "session.json"), "w") as f:
        json.dump({"gauge_u_deg": 0, "bands": ["left", "right", "lateral"]}, f)
    least = rig.least_deg()
    with open(os.path.join(a.out, "truth.json"), "w") as f:
        json.dump({"least_crosstalk_deg": least, "equal_crosstalk_deg": rig.equal_deg(least)}, f)


if __name__ == "__main__":
    main()
