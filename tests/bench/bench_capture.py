# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes captures for timing, with NumPy: left-only and right-only bands of 1 kHz in turn, noise 50 dB below, 96 kHz, 24 bits.

A capture is clean, or it has what real records and rigs add (KINDS)."""
import dataclasses
import math
import struct

import numpy as np

RATE_HZ = 96000
TONE_PEAK = 0.3
TURN_S = 1.8  # at 33⅓ rpm


@dataclasses.dataclass
class Kind:
    noise_rms: float = 1e-3
    clicks_per_s: float = 0
    wow_percent: float = 0
    lean_deg: float = 0        # amplitude of the first harmonic of the turn; the k-th has 1/k of it
    rumble_rms: float = 0      # below about 20 Hz
    hum_peak: float = 0        # 50 Hz; its k-th harmonic has 1/k of it


KINDS = {
    "clean": Kind(),
    "clicks and rumble": Kind(noise_rms=2.5e-3, clicks_per_s=10, rumble_rms=4e-3),
    "wow, warp and rumble": Kind(noise_rms=1.5e-3, wow_percent=0.15, lean_deg=0.1, rumble_rms=4e-3),
    "all of these and hum": Kind(noise_rms=2.5e-3, clicks_per_s=4, wow_percent=0.15, lean_deg=0.1, rumble_rms=4e-3, hum_peak=3e-3),
}


def clicks(rng, per_s):
    """One second of clicks, each on both channels at its own balance, with a peak about that of the tone."""
    x = np.zeros((RATE_HZ, 2))
    for at in rng.integers(0, RATE_HZ - 300, rng.poisson(per_s)):
        n = np.arange(rng.integers(30, 200))
        shape = np.exp(-4 * n / len(n)) * np.cos(2 * np.pi * rng.uniform(1000, 6000) / RATE_HZ * n)
        peak = TONE_PEAK * 10 ** (rng.normal(0, 4) / 20)
        x[at : at + len(n)] += np.outer(peak * shape, rng.uniform(-1, 1, 2))
    return x


def added(kind, second, t, rng):
    """One second of what comes beside the tone. Rumble is drawn 100 times a second, with straight lines between, and joined at whole seconds."""
    x = kind.noise_rms * rng.standard_normal((RATE_HZ, 2))
    if kind.clicks_per_s:
        x += clicks(rng, kind.clicks_per_s)
    if kind.rumble_rms:
        ends = [np.random.default_rng([7, s]).standard_normal((100, 2)) for s in (second, second + 1)]
        points = np.concatenate([ends[0], ends[1][:1]])
        for c in (0, 1):
            x[:, c] += kind.rumble_rms * np.interp(np.linspace(0, 100, RATE_HZ, endpoint=False), np.arange(101), points[:, c])
    if kind.hum_peak:
        x += sum(kind.hum_peak / k * np.cos(2 * np.pi * 50 * k * t + k) for k in range(1, 7))[:, None] * np.array([1.0, 0.8])
    return x


def write_capture(path, seconds, band_s=20, gap_s=10, seed=1, kind=KINDS["clean"]):
    """Writes a capture: a band of `band_s`, a gap of `gap_s`, a band of the other channel, and so on."""
    rng = np.random.default_rng(seed)
    bytes_ = seconds * RATE_HZ * 6
    leak_left, leak_right = 0.02 * np.exp(0.7j), 0.03 * np.exp(-0.4j)
    with open(path, "wb") as out:
        out.write(b"RIFF" + struct.pack("<I", 36 + bytes_) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 2, RATE_HZ, RATE_HZ * 6, 6, 24))
        out.write(b"data" + struct.pack("<I", bytes_))
        for second in range(seconds):
            t = (np.arange(RATE_HZ) + second * RATE_HZ) / RATE_HZ
            turn = 2 * np.pi * t / TURN_S
            # The phase of a frequency of 1000·(1 + wow·cos(turn)) Hz.
            phase = 2 * np.pi * 1000 * t + kind.wow_percent / 100 * 1000 * TURN_S * np.sin(turn)
            tone = TONE_PEAK * np.exp(1j * phase)
            lean = math.radians(kind.lean_deg) * sum(np.cos(k * turn + k) / k for k in range(1, 6)) if kind.lean_deg else 0.0
            place = (second - 2) % (2 * (band_s + gap_s))
            x = added(kind, second, t, rng)
            if second >= 2 and place < band_s:
                x += np.stack([tone.real, (tone * (leak_right + lean)).real], 1)
            elif second >= 2 and band_s + gap_s <= place < 2 * band_s + gap_s:
                x += np.stack([(tone * (leak_left - lean)).real, tone.real], 1)
            whole = np.round(np.clip(x, -1, 1) * 8388607).astype("<i4").reshape(-1)
            out.write(whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())
