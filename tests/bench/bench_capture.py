# SPDX-License-Identifier: GPL-3.0-or-later
"""Captures to be timed on, by NumPy: left-only and right-only bands of 1 kHz in turn, noise 50 dB below, 96 kHz, 24 bits."""
import struct

import numpy as np

RATE_HZ = 96000


def write_capture(path, seconds, band_s=20, gap_s=10, seed=1):
    """A band of `band_s`, a gap of `gap_s`, the other channel's band, and so on."""
    rng = np.random.default_rng(seed)
    bytes_ = seconds * RATE_HZ * 6
    leak_left, leak_right = 0.02 * np.exp(0.7j), 0.03 * np.exp(-0.4j)
    with open(path, "wb") as out:
        out.write(b"RIFF" + struct.pack("<I", 36 + bytes_) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 2, RATE_HZ, RATE_HZ * 6, 6, 24))
        out.write(b"data" + struct.pack("<I", bytes_))
        for second in range(seconds):
            t = (np.arange(RATE_HZ) + second * RATE_HZ) / RATE_HZ
            tone = 0.3 * np.exp(2j * np.pi * 1000 * t)
            place = (second - 2) % (2 * (band_s + gap_s))
            x = 1e-3 * rng.standard_normal((RATE_HZ, 2))
            if second >= 2 and place < band_s:
                x += np.stack([tone.real, (tone * leak_right).real], 1)
            elif second >= 2 and band_s + gap_s <= place < 2 * band_s + gap_s:
                x += np.stack([(tone * leak_left).real, tone.real], 1)
            whole = np.round(x * 8388607).astype("<i4").reshape(-1)
            out.write(whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())
