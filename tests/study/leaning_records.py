# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes captures of tones, sweeps and noise on records that lean, by vectors (NumPy), without code of the analysis or of its simulator.

A band's undriven channel is Re{q(t)·D(t)}, with the driven channel's analytic signal D and q(t) = q0 + S·lean(t)·exp(iβ). The lean recurs with each turn. It
consists of harmonics of stated amplitudes with phases of their own, or of one bump per turn, less its mean over the turn (that mean is the record's own
tilt). Wow recurs with each turn, too.
"""
import dataclasses
import struct

import numpy as np

DEGREE = np.pi / 180
TONE_HZ = 1000.0
TONE = 0.1  # −20 dBFS
GAP_S = 0.8
NOMINAL_RPM = 100 / 3


@dataclasses.dataclass(frozen=True)
class Record:
    kind: str = "tone"  # or "sweep" (100 Hz to 12 kHz) or "pink" (30 Hz to 20 kHz), both without wow
    seconds: float = 5.0
    snr_db: float = 45.0
    harmonics: dict = dataclasses.field(default_factory=dict)  # order: amplitude in degrees
    bump_deg: float = 0.0  # height of a bump that occurs once per turn
    bump_turns: float = 0.1  # width of the bump
    rpm: float = NOMINAL_RPM
    stated: bool = True  # whether the program is given the speed
    fast: float = 0.0  # excess speed, as a share
    wow: float = 0.0015  # share, peak
    flutter: float = 0.0  # share, r.m.s.
    beta_deg: float = 0.0
    clicks_per_s: float = 0.0
    rumble_dbfs: float | None = None

    @property
    def rate_hz(self):
        return 16000 if self.kind == "tone" else 48000


def falling(size_deg, power=1.0, orders=8):
    return {k: size_deg / k**power for k in range(1, orders + 1)}


class Groove:
    """One stretch of groove, which is the same at every capture."""

    def __init__(self, record, rng):
        self.record = record
        self.turns_per_s = record.rpm / 60 * (1 + record.fast)
        self.from_s = rng.uniform(0, 1 / self.turns_per_s)
        self.phases = {k: rng.uniform(0, 2 * np.pi) for k in record.harmonics}
        self.bump_at = rng.uniform()
        self.wow_phase = rng.uniform(0, 2 * np.pi)
        self.ratio = rng.normal(0, 0.03) + 1j * rng.normal(0, 0.01)

    def lean_deg(self, t):
        turns = self.turns_per_s * t
        lean = sum((size * np.cos(2 * np.pi * k * turns + self.phases[k]) for k, size in self.record.harmonics.items()), np.zeros(len(t)))
        if self.record.bump_deg:
            x = ((turns - self.bump_at + 0.5) % 1 - 0.5) / self.record.bump_turns
            bump = np.where(np.abs(x) < 0.5, 0.5 + 0.5 * np.cos(2 * np.pi * x), 0)
            lean += self.record.bump_deg * (bump - 0.5 * self.record.bump_turns)
        return lean

    def driven(self, n, t, rng):
        """Returns the driven channel as an analytic signal."""
        record = self.record
        if record.kind == "sweep":
            hz = 100 * 120 ** (np.arange(n) / n)
            return TONE * np.exp(2j * np.pi * np.cumsum(hz) / record.rate_hz)
        if record.kind == "pink":
            hz = np.fft.fftfreq(n, 1 / record.rate_hz)
            shape = np.where((hz > 30) & (hz < 20000), 1 / np.sqrt(np.maximum(hz, 1)), 0)
            noise = np.fft.ifft(shape * (rng.standard_normal(n) + 1j * rng.standard_normal(n)))
            return TONE / 2 * noise / noise.real.std()
        speed = (1 + record.fast) * (1 + record.wow * np.cos(2 * np.pi * self.turns_per_s * t + self.wow_phase))
        if record.flutter:
            window = np.hanning(801)
            speed += record.flutter * np.convolve(rng.standard_normal(n + 800), window / np.sqrt((window**2).sum()), "valid")
        return TONE * np.exp(1j * (2 * np.pi * TONE_HZ * np.cumsum(speed) / record.rate_hz + rng.uniform(0, 2 * np.pi)))

    def band(self, rng):
        """Returns the driven and the undriven channel, one row per sample."""
        record = self.record
        n = int(record.seconds * record.rate_hz)
        t = self.from_s + np.arange(n) / record.rate_hz
        driven = self.driven(n, t, rng)
        ratio = self.ratio + DEGREE * self.lean_deg(t) * np.exp(1j * DEGREE * record.beta_deg)
        edge = np.minimum(1, np.minimum(np.arange(n), np.arange(n)[::-1]) / (0.004 * record.rate_hz))
        return np.stack([driven.real * edge, (ratio * driven).real * edge], 1)


def disturbances(record, n, rng):
    noise = rng.standard_normal((n, 2)) * TONE / np.sqrt(2) * 10 ** (-record.snr_db / 20)
    if record.rumble_dbfs is not None:
        hz = np.fft.rfftfreq(n, 1 / record.rate_hz)
        shape = np.where((hz > 4) & (hz < 40), 1 / np.maximum(hz, 4), 0)
        for channel in (0, 1):
            rumble = np.fft.irfft((rng.standard_normal(len(hz)) + 1j * rng.standard_normal(len(hz))) * shape, n)
            noise[:, channel] += rumble / rumble.std() * 10 ** (record.rumble_dbfs / 20)
    for at in rng.integers(0, n - 40, rng.poisson(record.clicks_per_s * n / record.rate_hz)):
        length = rng.integers(3, 20)
        i = np.arange(length)
        size = rng.uniform(-1, 1, 2) * rng.lognormal(-2, 1)
        noise[at : at + length] += (np.exp(-i / 3) * np.sign(np.sin(i * rng.uniform(0.3, 2))))[:, None] * size
    return noise


def capture(record, left, right, rng):
    """Returns a left-only band on one groove and a right-only band on another, with gaps around them."""
    gap = np.zeros((int(GAP_S * record.rate_hz), 2))
    samples = np.vstack([gap, left.band(rng), gap, right.band(rng)[:, ::-1], gap])
    return samples + disturbances(record, len(samples), rng)


def write_wav(path, samples, rate_hz):
    """Writes 24 bits, so that rounding is far below the noise."""
    whole = np.clip(np.round(samples * 8388607), -8388608, 8388607).astype("<i4")
    data = whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes()
    header = struct.pack("<IHHIIHH", 16, 1, 2, rate_hz, rate_hz * 6, 6, 24)
    path.write_bytes(b"RIFF" + struct.pack("<I", 36 + len(data)) + b"WAVEfmt " + header + b"data" + struct.pack("<I", len(data)) + data)


def bound_deg(record):
    """Returns the Cramér–Rao bound in degrees: the standard deviation of each part of a tone's ratio in white noise if the driven tone is known."""
    noise = TONE / np.sqrt(2) * 10 ** (-record.snr_db / 20)
    return np.sqrt(2 * noise**2 / (record.seconds * record.rate_hz * TONE**2)) / DEGREE
