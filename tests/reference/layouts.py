# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes random test records with NumPy and espeak-ng and checks that every band is found, and nothing else.

Usage: layouts.py PROGRAM [--count N] [--first SEED]

Order, frequencies, repeats, lengths, levels, pauses, fades, level steps, dropouts, announcements, lead-in noise, crackle, DC, hum (harmonics near the tone
included), speed error, wow, flutter, revolutions and tilts of up to 20 degrees are drawn from the seed. Exits with 1 if a band is missed, misplaced by more
than 0.1 s, or given the wrong driven channel or pitch, or if a band is found that does not exist.
"""
import argparse
import json
import pathlib
import subprocess
import sys
import tempfile

import numpy as np

import sounds

EDGE_S = 0.1
FREQUENCIES_HZ = (250.0, 315.0, 400.0, 630.0, 1000.0, 1000.0, 1000.0, 3000.0, 3150.0, 6300.0, 10000.0)
KINDS = ("left", "right", "lateral", "vertical")
ANNOUNCEMENTS = ("Left channel.", "Right channel, one thousand hertz.", "Both channels in phase.", "Next comes the three kilohertz band.", "Band two.")
_spoken = {}


def announcement(rng):
    text = ANNOUNCEMENTS[rng.integers(len(ANNOUNCEMENTS))]
    if text not in _spoken:
        _spoken[text] = sounds.espeak(text)
    x = _spoken[text]
    return 0.4 * x / np.max(np.abs(x))


class Layout:
    """Holds the properties of the record and of the player. All of them follow from the seed."""

    def __init__(self, seed):
        rng = self.rng = np.random.default_rng([seed, 41])
        self.rate = int(rng.choice([48000, 48000, 44100, 96000]))
        self.rpm = float(rng.choice([100 / 3, 100 / 3, 45.0]))
        self.speed = 1 + rng.uniform(-0.03, 0.03)
        self.wow = rng.uniform(0, 0.006)
        self.flutter = rng.uniform(0, 0.001)
        self.tilt_deg = rng.uniform(-3, 3) if rng.random() < 0.8 else rng.choice([-1, 1]) * rng.uniform(3, 20)
        # At 20 degrees a left-only and a lateral band differ by only 2.2 dB, which leaves no room for imbalance.
        self.balance_db = rng.uniform(-1.5, 1.5) if abs(self.tilt_deg) < 12 else 0.0
        self.snr_db = rng.uniform(16, 45)
        self.clicks_per_s = float(rng.choice([0, 2, 10, 40]))
        self.hum = rng.random() < 0.5
        self.bands = self.draw_bands()

    def draw_bands(self):
        rng = self.rng
        chosen = rng.choice(FREQUENCIES_HZ, rng.integers(1, 4), replace=False)
        wanted = [(kind, hz) for hz in chosen for kind in KINDS[:2] for _ in range(rng.integers(1, 3))]
        wanted += [(KINDS[rng.integers(2, 4)], hz) for hz in chosen if rng.random() < 0.6]
        rng.shuffle(wanted)
        level_db = rng.uniform(-26, -8)
        bands, at = [], rng.uniform(0.3, 4)
        for kind, hz in ((k, float(h)) for k, h in wanted):
            before = bands[-1] if bands else None
            alike = before and before["kind"] == kind and abs(before["hz"] / hz - 1) < 0.1
            spoken = announcement(rng) if rng.random() < 0.35 else None
            pause = rng.choice([0.0, rng.uniform(0.1, 0.6), rng.uniform(0.6, 3)])
            if alike:
                pause = max(pause, 0.8)
            if spoken is not None:
                pause = spoken.size / sounds.RATE + 0.3
            at += pause
            length = rng.uniform(2, 7)
            fade = min(rng.choice([0.005, 0.03, 0.3]), 0.1 * length)
            step_db = rng.uniform(-8, 8) if rng.random() < 0.15 else 0.0
            bands.append({"kind": kind, "hz": hz, "start": at, "end": at + length, "fade": fade, "level_db": level_db + rng.uniform(-2, 2), "step_db": step_db})
            if spoken is not None:
                bands[-1]["spoken"] = spoken
            at += length
        self.total_s = at + rng.uniform(0.3, 3)
        return bands

    def response(self, kind):
        """Returns both outputs for a groove of one kind, for a cartridge tilted between ideal walls."""
        a = np.radians(self.tilt_deg)
        left, right = np.array([np.cos(a), -np.sin(a)]), np.array([np.sin(a), np.cos(a)])
        gains = np.array([10 ** (self.balance_db / 20), 1.0])
        return gains * {"left": left, "right": right, "lateral": (left + right) / np.sqrt(2), "vertical": (left - right) / np.sqrt(2)}[kind]

    def tone(self, band, t):
        rng, hz, length = self.rng, band["hz"] * self.speed, band["end"] - band["start"]
        turn = 2 * np.pi * self.rpm / 60 * t
        swing = self.wow * np.sin(turn + rng.uniform(0, 6)) + self.flutter * np.sqrt(2) * np.sin(2 * np.pi * rng.uniform(5, 12) * t)
        phase = 2 * np.pi * np.cumsum(hz * (1 + swing)) / self.rate + rng.uniform(0, 6)
        ramp = lambda x: 0.5 - 0.5 * np.cos(np.pi * np.clip(x / band["fade"], 0, 1))
        envelope = 10 ** (band["level_db"] / 20) * ramp(t) * ramp(length - t)
        if band["step_db"]:
            envelope = np.where(t > length * rng.uniform(0.3, 0.7), envelope * 10 ** (band["step_db"] / 20), envelope)
        wave = envelope * (np.sin(phase) + 0.01 * np.sin(2 * phase))
        for _ in range(rng.poisson(0.3)):
            lost = rng.uniform(0.3, length - 0.3)
            wave[(t > lost) & (t < lost + rng.uniform(0.001, 0.1))] = 0
        return wave

    def capture(self):
        rng, rate = self.rng, self.rate
        n = int(self.total_s * rate)
        t = np.arange(n) / rate
        x = np.zeros((n, 2))
        for band in self.bands:
            i0, i1 = int(band["start"] * rate), int(band["end"] * rate)
            x[i0:i1] += np.outer(self.tone(band, t[i0:i1] - band["start"]), self.response(band["kind"]))
            if "spoken" in band:
                s = np.interp(np.arange(0, band["spoken"].size / sounds.RATE, 1 / rate), np.arange(band["spoken"].size) / sounds.RATE, band["spoken"])
                j = max(0, i0 - s.size - int(0.15 * rate))
                x[j : j + s.size] += np.outer(s, self.response("lateral"))
        peak = 10 ** (np.mean([b["level_db"] for b in self.bands]) / 20)
        noise = np.stack([sounds.pink(rng, n), sounds.pink(rng, n)], 1) * peak / np.sqrt(2) * 10 ** (-self.snr_db / 20)
        lead_in = int(self.bands[0]["start"] * 0.8 * rate)
        noise[:lead_in] *= rng.uniform(1, 3)
        x += noise + rng.uniform(-0.05, 0.05, 2)
        if self.hum:
            base_hz = rng.choice([50.0, 60.0])
            x += np.outer(sounds.hum(rng, n, base_hz, 69, peak * 10 ** (-18 / 20), rate), [1.0, 0.8])
        for at in rng.uniform(0, self.total_s - 0.01, rng.poisson(self.clicks_per_s * self.total_s)):
            length = int(rate * rng.uniform(0.0003, 0.0015))
            burst = rng.standard_normal(length) * np.exp(-np.arange(length) / (0.3 * length))
            x[int(at * rate) : int(at * rate) + length] += np.outer(peak * 10 ** (rng.uniform(0, 18) / 20) * burst, rng.uniform(-1, 1, 2))
        # Clicks may clip the recorder, tones do not.
        loudest_db = max(b["level_db"] + max(b["step_db"], 0) for b in self.bands)
        return x * 10 ** (-max(0, loudest_db + 6) / 20)

    def expected(self):
        """Returns the expected bands, with the edges at half the amplitude of the fade."""
        driven = {"left": "left", "right": "right", "lateral": "both", "vertical": "both"}
        return [
            {"driven": driven[b["kind"]], "hz": b["hz"] * self.speed, "start": b["start"] + b["fade"] / 2, "end": b["end"] - b["fade"] / 2} for b in self.bands
        ]


def differences(expected, passages):
    problems, left_over = [], list(passages)
    for e in expected:
        fits = lambda p: (
            p["driven"] == e["driven"]
            and abs(p["frequency_hz"] / e["hz"] - 1) < 0.01
            and abs(p["start_s"] - e["start"]) < EDGE_S
            and abs(p["end_s"] - e["end"]) < EDGE_S
        )
        match = next((p for p in left_over if p["kind"] == "tone" and fits(p)), None)
        if match is None:
            problems.append(f"missed {e['driven']} {e['start']:.2f}-{e['end']:.2f} s {e['hz']:.1f} Hz")
        else:
            left_over.remove(match)
    describe = lambda p: f"{p['driven']} {p['start_s']:.2f}-{p['end_s']:.2f} s {p['frequency_hz'] or 0:.1f} Hz"
    return problems + [f"heard {describe(p)}" for p in left_over]


def check(program, seed, folder):
    layout = Layout(seed)
    path = pathlib.Path(folder) / "layout.wav"
    sounds.write_wav16(path, layout.capture(), layout.rate)
    done = subprocess.run(
        [program, "measure", "--json", "--quiet", "--rpm", str(layout.rpm), path], capture_output=True, text=True, timeout=300
    )
    reading = json.loads(done.stdout)
    expected = layout.expected()
    problems = [reading["error"]["message"]] if "error" in reading else differences(expected, reading["passages"])
    if problems:
        facts = f"rpm {layout.rpm:.1f} tilt {layout.tilt_deg:.1f} snr {layout.snr_db:.0f} clicks {layout.clicks_per_s:.0f} hum {layout.hum} wow {100 * layout.wow:.2f} steps {[round(b['step_db'], 1) for b in layout.bands if b['step_db']]}"
        print(f"seed {seed} ({facts}): " + "; ".join(problems), flush=True)
    return len(expected), bool(problems)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--first", type=int, default=1)
    a = parser.parse_args()
    bands = bad = 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(a.first, a.first + a.count):
            count, wrong = check(a.program, seed, folder)
            bands += count
            bad += wrong
    print(f"{a.count} layouts with {bands} bands: {a.count - bad} found correctly, {bad} not")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
