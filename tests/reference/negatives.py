# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks that no sound of a large collection is taken for a left- or right-driven passage. Usage: negatives.py PROGRAM [--short]

The sounds are speech (espeak-ng, flite, Debian's spoken samples), music, noise, hum, silence and square waves, on both channels and on one only. Every
capture ends with a true left-only and a true right-only band, so that the reading must list those two and nothing else that drives one channel.
Exits with 1 if anything else is found, or if those two are not.
"""
import argparse
import json
import pathlib
import subprocess
import sys
import tempfile

import numpy as np

import sounds
from sounds import RATE

PIECE_S = 240
TRUE_HZ = 997.0


def joined(parts, gap_s=0.25):
    gap = np.zeros(int(gap_s * RATE))
    return np.concatenate([y for x in parts for y in (0.5 * x / max(1e-9, np.max(np.abs(x))), gap)])


def speech(short):
    texts = sounds.TEXTS[:3] if short else sounds.TEXTS
    yield "espeak-ng", joined([sounds.espeak(t, v, p, q) for t in texts for v, p, q in (("en-gb", 150, 50), ("en-us+f3", 120, 70), ("de", 170, 20))])
    yield "flite", joined([sounds.flite(t, v) for t in texts for v in (("slt",) if short else ("slt", "rms", "awb", "kal16"))])
    yield "alsa", joined(sounds.sounds_of("/usr/share/sounds/alsa/*_*.wav"))
    spoken = sounds.sounds_of("/usr/share/pocketsphinx/test/data/cards/*.wav") + sounds.sounds_of("/usr/share/pocketsphinx/test/data/*.raw")
    spoken += sounds.sounds_of("/usr/share/pocketsphinx/test/data/librivox/*.wav")
    yield "pocketsphinx", joined(spoken)
    pattern = "/vm-*.wav" if short else "/*.wav"
    yield "asterisk", joined(sounds.sounds_of(sounds.ASTERISK + pattern, sounds.ASTERISK_BEEPS))


def music(short):
    yield "sonic-pi samples", joined(sounds.sounds_of("/usr/share/sonic-pi/samples/*.flac"))
    loops = sounds.sounds_of("/usr/share/sonic-pi/samples/loop_*.flac")
    if not short:
        yield "sonic-pi loops, repeated", joined([np.tile(x, 3) for x in loops])
        # Slower and faster playback moves every pitch.
        held = sounds.sounds_of("/usr/share/sonic-pi/samples/ambi_*.flac") + sounds.sounds_of("/usr/share/sonic-pi/samples/guit_*.flac")
        for speed in (0.6, 1.7):
            grid = [np.interp(np.arange(0, x.size - 1, speed), np.arange(x.size), x) for x in held]
            yield f"sonic-pi held notes at {speed} speed", joined(grid)


def spread(x, way, rng):
    """Puts the sound on two channels, with the noise of an unmodulated groove unless the way is digital silence."""
    y = np.zeros((x.size, 2))
    noise = 5e-4 * rng.standard_normal(y.shape)
    if way == "left, digital silence right":
        y[:, 0] = x
    elif way == "right, leak and noise left":
        y[:, 1], y[:, 0] = x, -0.04 * x
        y += noise
    elif way == "left, noise right":
        y[:, 0] = x
        y += noise
    else:
        y[:, 0], y[:, 1] = x, 0.9 * x
        y += noise
    return y


def steady(short):
    """Yields noise, hum, silence and square waves, as pairs of name and stereo sound."""
    rng = np.random.default_rng(20261125)
    n = int((20 if short else 120) * RATE)
    t = np.arange(n) / RATE
    for name, x in (("pink", sounds.pink(rng, n)), ("white", rng.standard_normal(n))):
        x = 0.15 * x
        yield f"{name} noise, equal", np.stack([x, x + 1e-4 * rng.standard_normal(n)], 1)
        yield f"{name} noise, left only", np.stack([x, 1e-4 * rng.standard_normal(n)], 1)
    n = int((12 if short else 30) * RATE)
    t = t[:n]
    hush = 2e-4 * rng.standard_normal((n, 2))
    for base_hz in (50, 60):
        hum = lambda shares: sum(a * np.sin(2 * np.pi * base_hz * k * t + rng.uniform(0, 6)) for k, a in shares.items())
        shapes = {
            "1/k": {k: 0.1 / k for k in range(1, 20)},
            "odd": {k: 0.1 / k for k in range(1, 20, 2)},
            "rectifier": {k: 0.1 / k**1.5 for k in range(2, 20, 2)},
            "third alone loud": {1: 0.004, 3: 0.05, 5: 0.003},
        }
        for shape, shares in shapes.items():
            yield f"hum {base_hz} Hz, {shape}, left", np.stack([hum(shares), 0.02 * hum(shares)], 1) + hush
            yield f"hum {base_hz} Hz, {shape}, both", np.stack([hum(shares), 0.8 * hum(shares)], 1) + hush
    yield "silence", np.zeros((n, 2))
    yield "quiet groove", hush
    for hz in (100.0, 315.0, 1000.0):
        square = 0.3 * np.sign(np.sin(2 * np.pi * hz * t))
        yield f"square {hz:.0f} Hz, right", np.stack([0 * t, square], 1)
        yield f"square {hz:.0f} Hz, both", np.stack([square, 0.7 * square], 1)


def negatives(short):
    rng = np.random.default_rng(7)
    ways = ("left, digital silence right", "right, leak and noise left", "left, noise right", "both")
    for kind in (speech, music):
        for i, (name, x) in enumerate(kind(short)):
            for way in (ways[i % 2], ways[2]) if short else ways[:3] if kind is music else (ways[i % 2], ways[3]):
                for start in range(0, x.size, PIECE_S * RATE):
                    yield f"{name}, {way}, from {start // RATE} s", spread(x[start : start + PIECE_S * RATE], way, rng)
    yield from steady(short)


def with_true_bands(x):
    """Returns the sound followed by 1 s of silence, 3 s left only, 1 s of silence and 3 s right only."""
    band, gap = int(3 * RATE), int(RATE)
    tone = 0.2 * np.sin(2 * np.pi * TRUE_HZ * np.arange(band) / RATE)
    tail = np.zeros((2 * gap + 2 * band + gap, 2))
    tail[gap : gap + band] = np.stack([tone, 0.01 * tone], 1)
    tail[2 * gap + band : 2 * gap + 2 * band] = np.stack([0.01 * tone, tone], 1)
    return np.concatenate([x, tail])


def heard_in(program, path):
    done = subprocess.run([program, "measure", "--json", "--quiet", path], capture_output=True, text=True, timeout=600)
    reading = json.loads(done.stdout)
    if "error" in reading:
        return None, reading["error"]["message"]
    return reading["passages"], ""


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("--short", action="store_true")
    a = parser.parse_args()
    seconds, false, both, lost = 0.0, [], 0, []
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "negative.wav"
        for name, x in negatives(a.short):
            length_s = x.shape[0] / RATE
            sounds.write_wav16(path, with_true_bands(x))
            passages, why = heard_in(a.program, path)
            seconds += length_s
            if passages is None:
                lost.append(f"{name}: {why}")
                continue
            before = [p for p in passages if p["start_s"] < length_s]
            # A passage that lasts into a true band would be an error too, so exactly those two must begin after the sound.
            if len([p for p in passages if p["driven"] != "both"]) - len([p for p in before if p["driven"] != "both"]) != 2:
                lost.append(f"{name}: the true bands were not found")
            for p in before:
                if p["driven"] == "both":
                    both += 1
                else:
                    at = p["frequency_hz"] or 0
                    false.append(f"{name}: {p['kind']} {p['driven']} {p['start_s']:.2f}-{p['end_s']:.2f} s, {at:.1f} Hz, {p['snr_db']:.1f} dB over the rest")
    for line in false + lost:
        print(line)
    print(f"{seconds / 60:.1f} minutes of negatives: {len(false)} false left- or right-driven passages, {both} both-channel ones, {len(lost)} captures without an answer")
    return 1 if false or lost else 0


if __name__ == "__main__":
    sys.exit(main())
