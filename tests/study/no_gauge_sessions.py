# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes the random sessions of no_gauge_study.py: recordings of an invented cartridge at azimuths that no log states.

The cartridge and its record are those of real_benches.py, which shares no code with the analysis. A person turns the cartridge by 0.7° to 3° between
recordings and does not know by how much. The wiring is random, and so is what the session states about the record's bands.
"""
import dataclasses
import json
import math
import pathlib
import struct

import numpy as np

from real_benches import LEAK_U, Bench, Rig, Wiring, reading

TURNS_DEG = (0.7, 3.0)  # of one move (a judgement: a hand turns a screw by more than it must)
START_DEG = 2.5  # largest angle between the last position and the optimum
FURTHEST_DEG = 4.0
BANDS = {"all": ["left", "right", "lateral"], "no lateral": ["left", "right"], "none": None}
RATE_HZ, TONE_HZ = 32000, 1000.0
TONE_S, GAP_S = 4.0, 0.8
LEVEL = 0.25  # of full scale: −12 dBFS


@dataclasses.dataclass
class Session:
    """Holds a session and its true values. Turns are in degrees, clockwise, from the position of the cartridge in the last recording."""
    rig: Rig
    tilts: list  # in order of capture
    gain: complex
    wirings: list  # of each recording
    bands: list | None
    noise_u: float
    least: float
    equal: float | None
    one_other: bool  # whether one recording is wired otherwise than the rest
    unseen_sign: int  # −1 if the wiring that the session does not show turns the answer around

    def facts(self):
        facts = {"cartridge": "Marsh Harrier 4", "record": "Levelling Bands, side A"}
        return facts | ({"bands": self.bands} if self.bands else {})


def session(number):
    rng = np.random.default_rng([20, number])
    rig = Rig(rng, Bench())
    least = rig.least_deg()
    tilts = [least + rng.uniform(-START_DEG, START_DEG)]
    count = int(rng.integers(2, 6))
    while len(tilts) < count:
        new = tilts[-1] + rng.choice([-1, 1]) * rng.uniform(*TURNS_DEG)
        if abs(new - least) < FURTHEST_DEG:
            tilts.append(new)
    tilts.reverse()
    stated = rng.choice(list(BANDS), p=[0.6, 0.2, 0.2])
    swapped, reversed_ = rng.random(2) < 0.25
    wirings = [Wiring(bool(reversed_), bool(swapped)) for _ in tilts]
    one_other = stated == "all" and rng.random() < 0.15
    if one_other:  # the leads are changed for one recording
        odd = wirings[rng.integers(count)]
        odd.flipped, odd.swapped = (not odd.flipped, odd.swapped) if rng.random() < 0.5 else (odd.flipped, not odd.swapped)
    unseen = {"all": 1, "no lateral": -1 if reversed_ else 1, "none": -1 if swapped != reversed_ else 1}[stated]
    equal = rig.equal_deg(least)
    u = math.exp(rng.uniform(*np.log(LEAK_U)))
    return Session(rig, tilts, rig.gain[0], wirings, BANDS[stated], u, least - tilts[-1], None if equal is None else equal - tilts[-1], one_other, unseen)


def readings_of(one, number):
    """Returns the session as lines of readings."""
    rng = np.random.default_rng([21, number])
    bench = Bench(both_bands=one.bands is None or "lateral" in one.bands)
    lines = []
    for i, (tilt, wiring) in enumerate(zip(one.tilts, one.wirings)):
        r = reading(rng, bench, one.rig, i + 1, 0.0, tilt, one.gain, wiring, one.noise_u, one.facts())
        r["tilt_deg"] = None
        if wiring.swapped:  # the passages stay in the order of the record, and each is loudest in the other channel
            left, right = r["passages"][0], r["passages"][1]
            left["driven"], right["driven"] = "right", "left"
        lines.append(json.dumps(r))
    return "\n".join(lines) + "\n"


def write_wav(path, channels):
    """Writes a 24-bit file."""
    whole = np.round(np.clip(channels, -1, 1).T * (2 ** 23 - 1)).astype("<i4").reshape(-1)
    data = whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes()
    head = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36 + len(data), b"WAVE", b"fmt ", 16, 1, 2, RATE_HZ, RATE_HZ * 6, 6, 24, b"data", len(data))
    path.write_bytes(head + data)


def recording(rng, one, tilt, wiring):
    """Returns both channels of one recording: the bands of the record with wow, and noise in the gaps, too."""
    m = np.diag([one.gain, 1]) @ one.rig.matrix(tilt) @ np.diag([10 ** (one.rig.cut_level_db / 20), 1])
    drives = [np.array([1, 0]), np.array([0, 1]), np.array([1, 1]) / math.sqrt(2)]
    t = np.arange(int(TONE_S * RATE_HZ)) / RATE_HZ
    gap = np.zeros((2, int(GAP_S * RATE_HZ)))
    parts = [gap]
    for drive in drives[:2 if one.bands == BANDS["no lateral"] else 3]:
        wow = 0.001 * np.cos(2 * np.pi * t / 1.8 + rng.uniform(0, 2 * np.pi))
        phase = 2 * np.pi * TONE_HZ * (t + np.cumsum(wow) / RATE_HZ) + rng.uniform(0, 2 * np.pi)
        out = m @ drive
        parts += [LEVEL * np.real(out[:, None] * np.exp(1j * phase)[None, :]), gap]
    sound = np.concatenate(parts, axis=1)
    # The variance of each part of a crosstalk ratio is twice that of the noise over samples and squared level.
    noise = one.noise_u * LEVEL * math.sqrt(0.5 * len(t)) * 0.5
    sound = sound + noise * rng.normal(size=sound.shape)
    if wiring.flipped:
        sound = np.array([-sound[0], sound[1]])
    return sound[::-1] if wiring.swapped else sound


def write_folder(one, number, folder):
    """Writes the session as a folder of recordings, without a log."""
    rng = np.random.default_rng([22, number])
    folder = pathlib.Path(folder)
    (folder / "session.json").write_text(json.dumps(one.facts()))
    for i, (tilt, wiring) in enumerate(zip(one.tilts, one.wirings)):
        write_wav(folder / f"take-{i + 8}.wav", recording(rng, one, tilt, wiring))  # from take-8 to take-12 at most: by number, not by letter
