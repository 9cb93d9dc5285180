#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes a session of captures with sweep or noise bands, with NumPy, independently of the project's own simulator.

synthesise_bands.py OUT --seed N [--kind sweep|linear|pink|white] [--warp-deg W] [--resonance HZ,Q,AMPLITUDE]
writes OUT/step-N.wav, steps.csv, session.json and truth.json (least-crosstalk tilt per one-third octave).

The groove's motion is made in time (a chirp by its phase integral, noise by FFT shaping). It leans with the record and is projected on the generator's axes
by vectors. Coupling, gain and resonance are filters applied to the whole signal by FFT. Groove, warp and noise in the groove are the same at every step;
surface noise is not.
"""
import argparse
import functools
import json
import os

import numpy as np
import scipy.fft
import scipy.optimize

from synthesise import RATE, REVOLUTION_S, U_LEFT, U_RIGHT, Rig, rotate_clockwise, write_wav24

LEVEL = 10 ** (-14 / 20)
CENTRES = [1000 * 10 ** (n / 10) for n in range(-13, 12)]


def resonance(f, text):
    """Returns the second-order band-pass response of a generator: unity at its peak, times the given amplitude."""
    if not text:
        return 0 * f
    f0, q, amplitude = (float(x) for x in text.split(","))
    s = 1j * f / f0
    return amplitude * (s / q) / (1 + s / q + s * s)


def coupling(rig, f, text):
    """Returns the coupling for every frequency. Rows: outputs; columns: inputs."""
    c = np.empty((2, 2, len(f)), complex)
    c[0, 0] = c[1, 1] = 1
    c[0, 1] = rig.coupling[0, 1] + resonance(f, text)
    c[1, 0] = rig.coupling[1, 0] - 0.7 * resonance(f, text)
    return c


@functools.cache
def mean_least_deg(rig, centre, text):
    """The mean over the third octave of ln f: the crosstalk of a third octave is such a mean, and least crosstalk is linear in it."""
    if not text:
        return least_deg(rig, centre, text)
    return float(np.mean([least_deg(rig, centre * 10 ** ((k + 0.5) / 90 - 0.05), text) for k in range(9)]))


def coupling_of_captures(rig, n, text):
    return coupling(rig, np.fft.rfftfreq(n, 1 / RATE), text)


def chirp(seconds, f1, f2, linear, wow):
    t = np.arange(int(seconds * RATE)) / RATE
    f = f1 + (f2 - f1) * t / seconds if linear else f1 * (f2 / f1) ** (t / seconds)
    return LEVEL * np.cos(2 * np.pi * np.cumsum(f * (1 + wow(t))) / RATE)


def noise(rng, seconds, pink):
    n = int(seconds * RATE)
    spectrum = np.fft.rfft(rng.standard_normal(n))
    f = np.fft.rfftfreq(n, 1 / RATE)
    shape = np.where((f > 30) & (f < 20000), 1 / np.sqrt(np.maximum(f, 1)) if pink else 1.0, 0)
    x = np.fft.irfft(spectrum * shape, n)
    return x * (LEVEL / np.sqrt(2) / np.std(x))


def bands_of(seed, a):
    """Returns the groove, which is the same at every step: bands, length in seconds, phase of warp and wow."""
    rng = np.random.default_rng([seed, 2])
    at, bands = 2.0, []
    phase = rng.uniform(0, 2 * np.pi)
    for side in ("left", "right"):
        wow = lambda t, at=at: a.wow_percent / 100 * np.sin(2 * np.pi * (at + t) / REVOLUTION_S + phase + 1)
        if a.kind in ("sweep", "linear"):
            f1, f2 = (a.to_hz, a.from_hz) if a.down else (a.from_hz, a.to_hz)
            signal = chirp(a.passage_s, f1, f2, a.kind == "linear", wow)
        else:
            signal = noise(rng, a.passage_s, a.kind == "pink")
        ramp = np.clip(np.minimum(np.arange(len(signal)), np.arange(len(signal))[::-1]) / (0.02 * RATE), 0, 1)
        bands.append({"side": side, "start": at, "signal": signal * ramp})
        at += a.passage_s + 1.2
    return bands, at, phase


def without_noise(rig, groove, tilt_deg, a):
    bands, total_s, phase = groove
    n = int(total_s * RATE)
    cut = rig.cut()
    seen = np.zeros((2, n))
    for band in bands:
        i = int(band["start"] * RATE)
        t = band["start"] + np.arange(len(band["signal"])) / RATE
        angle = np.radians(tilt_deg + a.warp_deg * np.cos(2 * np.pi * t / REVOLUTION_S + phase))
        motion = cut[:, 0 if band["side"] == "left" else 1]
        for c, (axis, delta) in enumerate(((U_LEFT, rig.delta[0]), (U_RIGHT, rig.delta[1]))):
            u = rotate_clockwise(axis, delta)
            turned = np.array([u[0] * np.cos(angle) + u[1] * np.sin(angle), -u[0] * np.sin(angle) + u[1] * np.cos(angle)])
            seen[c, i : i + len(t)] += (turned[0] * motion[0] + turned[1] * motion[1]) * band["signal"]
    v = scipy.fft.rfft(seen, axis=1)
    c = coupling_of_captures(rig, n, a.resonance)
    out = np.stack([rig.gain[0, 0] * (v[0] + c[0, 1] * v[1]), rig.gain[1, 1] * (v[1] + c[1, 0] * v[0])])
    return scipy.fft.irfft(out, n, axis=1).T


def capture(turned, total_s, seed, step, tilt_deg, a):
    """turned: the signal without noise, at 0° and at 90°. Other tilts follow by cosine and sine of the tilt, because each projection on an axis does."""
    x = np.cos(np.radians(tilt_deg)) * turned[0] + np.sin(np.radians(tilt_deg)) * turned[1]
    rng = np.random.default_rng([seed, 3, step])
    x = x + LEVEL / np.sqrt(2) * 10 ** (a.noise_db / 20) * rng.standard_normal(x.shape)
    for at in rng.uniform(0, total_s - 0.01, rng.poisson(a.clicks * total_s)):
        length = int(RATE * rng.uniform(0.0003, 0.002))
        burst = rng.standard_normal(length) * np.exp(-np.arange(length) / (0.3 * length))
        x[int(at * RATE) : int(at * RATE) + length] += np.outer(LEVEL * 10 ** (rng.normal(6, 4) / 20) * burst, rng.uniform(-1, 1, 2))
    return np.clip(x, -1, 1 - 2**-23)


def least_deg(rig, f, text):
    c = coupling(rig, np.array([f]), text)[:, :, 0]
    def leaks(tilt):
        m = c @ np.array([rotate_clockwise(U_LEFT, tilt + rig.delta[0]), rotate_clockwise(U_RIGHT, tilt + rig.delta[1])]) @ rig.cut()
        return abs(m[0, 1] / m[0, 0]) ** 2 + abs(m[1, 0] / m[1, 1]) ** 2
    return scipy.optimize.minimize_scalar(leaks, bounds=(-6, 6), method="bounded", options={"xatol": 1e-10}).x


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("out")
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--kind", choices=("sweep", "linear", "pink", "white"), default="sweep")
    parser.add_argument("--passage-s", type=float, default=15)
    parser.add_argument("--from-hz", type=float, default=40)
    parser.add_argument("--to-hz", type=float, default=16000)
    parser.add_argument("--down", action="store_true")
    parser.add_argument("--warp-deg", type=float, default=0)
    parser.add_argument("--wow-percent", type=float, default=0.1)
    parser.add_argument("--noise-db", type=float, default=-42, help="rms of white noise over that of the band")
    parser.add_argument("--clicks", type=float, default=0, help="a second")
    parser.add_argument("--resonance", default="", help="HZ,Q,AMPLITUDE of a resonant coupling")
    parser.add_argument("--tilts", default="-2,-1,0,1,2")
    a = parser.parse_args()
    os.makedirs(a.out, exist_ok=True)
    rig, groove = Rig(np.random.default_rng([a.seed, 1])), bands_of(a.seed, a)
    turned = [without_noise(rig, groove, tilt, a) for tilt in (0, 90)]
    with open(os.path.join(a.out, "steps.csv"), "w") as log:
        log.write("capture,tilt_deg\n")
        for i, tilt in enumerate(float(x) for x in a.tilts.split(",")):
            write_wav24(os.path.join(a.out, f"step-{i + 1}.wav"), capture(turned, groove[1], a.seed, i, tilt, a))
            log.write(f"step-{i + 1}.wav,{tilt}\n")
    with open(os.path.join(a.out, "session.json"), "w") as f:
        json.dump({"gauge_u_deg": 0, "bands": ["left", "right"]}, f)
    with open(os.path.join(a.out, "truth.json"), "w") as f:
        json.dump({"by_frequency": [{"frequency_hz": c, "least_crosstalk_deg": mean_least_deg(rig, c, a.resonance)} for c in CENTRES]}, f)


if __name__ == "__main__":
    main()
