# SPDX-License-Identifier: GPL-3.0-or-later
"""Generates captures of varied content in correct files, by a seeded generator, with values around every limit of the method."""
import numpy as np

import containers as c

RATES = (8000, 11025, 16000, 22050, 44100, 48000, 96000, 192000)
FORMATS = ("pcm16", "pcm24", "pcm32", "float32", "float64")
KINDS = ("tone", "tone", "tone", "sweep", "linear", "noise", "silence", "speech", "crackle", "square", "constant", "click")
# Seconds: the shortest tone and run (0.3, 0.5), the bridge (0.3), one revolution at each speed, two of them, sweeps from 2 s, noise from 2.5 s, tables that
# are thinned from 600, 1,500 and 400 rows on (hops of 5.33 ms), the frames of hum (0.7) and of looks (0.05, 0.0427, 0.25).
LIMITS_S = (0.0427, 0.05, 0.21, 0.25, 0.3, 0.5, 0.65, 0.7, 0.125, 1.0, 60 / 78, 60 / 45, 1.8, 2 * 60 / 45, 3.6, 2.0, 2.5, 400 * 0.00533, 600 * 0.00533,
            1500 * 0.00533, 24 * 0.00533, 30 * 0.00533)
# Frames: the blocks in which the program reads and scans a capture, and their steps.
LIMITS_FRAMES = (256, 512, 1024, 2048, 4096, 8192, 16384, 65535, 65536, 131072)
MOST_FRAMES = 1_200_000
LONG_S = (60.0, 119.9, 120.0, 120.2, 150.3, 151.0, 170.0, 241.0)


def frames_of(draw, rate, likely=False):
    kind = draw.integers(10)
    if likely:
        return int(round((draw.choice(LIMITS_S[8:]) + draw.choice((0, 0.5, 1.0, 2.0))) * rate) + draw.integers(-1, 2))
    if kind < 5:
        frames = round(draw.choice(LIMITS_S) * rate) + draw.integers(-1, 2)
    elif kind < 7:
        frames = draw.choice(LIMITS_FRAMES) + draw.integers(-1, 2)
    else:
        frames = round(10 ** draw.uniform(-2, 1) * rate)
    return int(max(0, min(frames, MOST_FRAMES // 4)))


def signal(kind, n, rate, draw, likely=False):
    """Returns one channel at full scale."""
    t = np.arange(n) / rate
    if likely and kind == "tone":
        return np.sin(2 * np.pi * draw.choice((315, 1000, 1000, 1000, 3000)) * t + draw.uniform(0, 6.28))
    hz = float(draw.choice((20, 50, 150, 315, 999, 1000, 1000, 1000, 3000, 0.2 * rate, 0.44 * rate, 0.45 * rate, 0.4999 * rate)))
    if kind == "tone":
        wow = draw.choice((0, 0, 0.002, 0.02))
        return np.sin(2 * np.pi * (hz * t + wow * hz * np.sin(3.49 * t) / 3.49) + draw.uniform(0, 6.28))
    if kind in ("sweep", "linear"):
        low, high = sorted(draw.choice((20, 40, 200, 1000, 0.3 * rate, 0.45 * rate, 0.49 * rate), 2, replace=False))
        if draw.random() < 0.3:
            low, high = high, low
        span = max(n / rate, 1e-9)
        if kind == "sweep":
            k = np.log(high / low)
            return np.sin(2 * np.pi * low * span / k * np.expm1(k * t / span))
        return np.sin(2 * np.pi * (low * t + 0.5 * (high - low) / span * t * t))
    if kind == "noise":
        return np.clip(0.3 * draw.standard_normal(n), -1, 1)
    if kind == "speech":  # syllables of a buzz with a changing pitch
        pitch = np.cumsum(120 + 40 * np.sin(2.1 * t + draw.uniform(0, 6))) / rate
        return sum(np.sin(2 * np.pi * k * pitch) / k for k in range(1, 9)) / 3 * np.clip(np.sin(2 * np.pi * 3.7 * t), 0, 1)
    if kind == "crackle":
        clicks = (draw.random(n) < 30 / rate * draw.choice((1, 10))) * draw.choice((-1, 1), n)
        return np.clip(0.25 * np.sin(2 * np.pi * hz * t) + clicks, -1, 1)
    if kind == "square":
        return np.sign(np.sin(2 * np.pi * hz * t + 0.1))
    if kind == "constant":
        return np.full(n, draw.choice((1.0, -1.0, 0.5)))
    if kind == "click":
        return (np.arange(n) == n // 2) * 1.0
    return np.zeros(n)


def passage(draw, rate, frames, likely=False):
    kind = str(draw.choice(("tone", "tone", "tone", "tone", "sweep", "noise") if likely else KINDS))
    level_db = draw.choice((-6, -12, -20, -40) if likely else (0, -0.1, -6, -12, -12, -12, -40, -69, -71, -100))
    loud = 10 ** (level_db / 20) * signal(kind, frames, rate, draw, likely)
    leak = draw.choice((0, 1e-6, 0.003, 0.03, 0.03, 0.2, 0.41, 0.42, 1.0, -1.0))
    sides = [loud, leak * loud]
    return np.stack(sides if draw.random() < 0.5 else sides[::-1], axis=1)


def encoded(x, form, draw):
    """Returns (samples in the format, format tag, bits); at random some float samples are not finite, far beyond full scale, or denormal."""
    if form.startswith("float"):
        y = x.astype("<f4" if form == "float32" else "<f8")
        if draw.random() < 0.15 and len(y):
            y[draw.integers(0, len(y), 5), draw.integers(0, 2, 5)] = draw.choice((np.nan, np.inf, -np.inf, 1e30, 1e-42))
        return y.tobytes(), 3, 32 if form == "float32" else 64
    bits = int(form[3:])
    whole = np.clip(np.round(x * (2.0 ** (bits - 1) - 1)), -2.0 ** (bits - 1), 2.0 ** (bits - 1) - 1).astype("<i4")
    if bits == 24:
        return np.ascontiguousarray(whole.reshape(-1).view(np.uint8).reshape(-1, 4)[:, :3]).tobytes(), 1, 24
    return whole.astype("<i2" if bits == 16 else "<i4").tobytes(), 1, bits


def capture(seed):
    """Returns (bytes, seconds of audio, description)."""
    draw = np.random.default_rng(seed)
    rate, form = int(draw.choice(RATES)), str(draw.choice(FORMATS))
    parts, left = [], MOST_FRAMES
    if draw.random() < 0.04:  # one long tone at the lowest rate
        rate, left = 8000, 0
        parts.append(passage(draw, rate, int(draw.choice(LONG_S) * rate) + int(draw.integers(-1, 2))))
    for _ in range(int(draw.choice((0, 1, 2, 2, 2, 3, 5, 12)))):
        likely = draw.random() < 0.6  # as on a real record
        for piece in (np.zeros((frames_of(draw, rate) // 2, 2)), passage(draw, rate, frames_of(draw, rate, likely), likely)):
            if len(piece) <= left:
                parts.append(piece)
                left -= len(piece)
    x = np.concatenate(parts) if parts else np.zeros((0, 2))
    noise = draw.choice((0, 0, 1e-5, 1e-3, 0.03))
    x = x + noise * draw.standard_normal(x.shape) + draw.choice((0, 0, 0, 0.2)) * draw.standard_normal(2)
    if draw.random() < 0.08 and len(x):  # a sample lost in one channel
        flat, at = x.reshape(-1), int(draw.integers(0, x.size))
        x = np.append(np.delete(flat, at), 0).reshape(-1, 2)
    data, tag, bits = encoded(x, form, draw)
    return c.wav(data, tag=tag, bits=bits, rate=rate), len(x) / rate, f"{len(x)} frames at {rate} Hz, {form}"
