# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes captures of tones, sweeps and noise of any length by NumPy: 16 bits, block by block, so that an hour needs little memory."""
import struct

import numpy as np

LEVEL = 0.25
CROSSTALK = 10 ** (-30 / 20)  # amplitude in the undriven channel, relative to the driven one
GAP_S = 1.0
STEPS = 32767
MOST_IN_BLOCK = 1 << 18  # frames
NOISE = 10 ** (-75 / 20)
SWEEP_FROM_HZ, SWEEP_TO_SHARE = 40.0, 0.4  # of the sample rate


def sweep_to_hz(rate):
    return min(20000.0, SWEEP_TO_SHARE * rate)


def driven(kind, t, seconds, rate, draw):
    """Returns the driven channel at the times t of a passage."""
    if kind == "tone":
        return LEVEL * np.sin(2 * np.pi * 1000 * t)
    if kind == "noise":
        return LEVEL * draw.standard_normal(len(t)) / 2
    span = np.log(sweep_to_hz(rate) / SWEEP_FROM_HZ)
    if kind == "sweep":
        return LEVEL * np.sin(2 * np.pi * SWEEP_FROM_HZ * seconds / span * np.expm1(span * t / seconds))
    rise = (sweep_to_hz(rate) - SWEEP_FROM_HZ) / seconds  # "linear sweep"
    return LEVEL * np.sin(2 * np.pi * (SWEEP_FROM_HZ * t + 0.5 * rise * t * t))


def write_capture(path, passages, rate, seed=1, noise=NOISE):
    """Writes passages (kind, driven channel, seconds) with a gap before each and after the last. Returns the path."""
    draw = np.random.default_rng(seed)
    parts = [part for passage in passages for part in (("gap", 0, GAP_S), passage)] + [("gap", 0, GAP_S)]
    frames = [round(seconds * rate) for _, _, seconds in parts]
    size = 4 * sum(frames)
    with open(path, "wb") as out:
        out.write(b"RIFF" + struct.pack("<I", min(36 + size, 0xFFFFFFFF)) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 2, rate, rate * 4, 4, 16))
        out.write(b"data" + struct.pack("<I", size))
        for (kind, channel, seconds), count in zip(parts, frames):
            for first in range(0, count, MOST_IN_BLOCK):
                n = min(MOST_IN_BLOCK, count - first)
                x = noise * draw.standard_normal((n, 2), dtype=np.float32)
                if kind != "gap":
                    loud = driven(kind, (first + np.arange(n)) / rate, seconds, rate, draw)
                    x[:, channel] += loud
                    x[:, 1 - channel] += CROSSTALK * loud
                out.write(np.round(STEPS * np.clip(x, -1, 1)).astype("<i2").tobytes())
    return path
