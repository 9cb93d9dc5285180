# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes the recordings of a session for band_optimum_study.py (NumPy), by vectors and FFT filters, without code of the analysis or of its simulator.

The groove moves the stylus along the directions of the two walls. Its own noise moves it, too. The groove leans once per turn. Each generator senses the
motion along its axis, which gives one signal for 0° and one for 90°: those of other tilts follow by cosine and sine. Coupling and gains filter the whole
recording by FFT. A share of the noise recurs with the groove, and the rest belongs to each playing.
"""
import dataclasses
import json
import statistics

import numpy as np

from band_optimum_model import SWEPT_HZ, THIRDS_HZ, least_of
from leaning_records import write_wav

LEVEL = 10 ** (-14 / 20)  # amplitude of a sweep or tone
REVOLUTION_S = 1.8  # 33 1/3 rpm
LEAN_DEG = 0.03
GAP_S, FADE_S = 1.5, 0.02
TONES_HZ = {"tones": (300.0, 1000.0, 3000.0), "narrow": (1000.0, 1600.0)}
LOGGED_DEG = (-2.0, -1.0, 0.0, 1.0, 2.0)


@dataclasses.dataclass(frozen=True)
class Case:
    kind: str  # sweep, pink, tones or narrow (two tones less than an octave apart)
    gauge_deg: float  # standard deviation of the error of each tilt, which the session states
    seed: int
    locked: float = 0.0  # share of the noise's power that recurs with the groove
    stratified: bool = True  # the mean error of the gauge, over the seeds

    @property
    def rate_hz(self):
        return 96000 if self.kind == "sweep" and self.seed % 4 == 3 else 48000

    def generator(self, *purpose):
        """Returns random numbers of their own for each purpose."""
        return np.random.default_rng([self.seed, *self.kind.encode(), round(1e6 * self.gauge_deg), *purpose])


def passages(case):
    """Returns the passages as (wall, signal), and silence as (None, samples)."""
    rng, rate = case.generator(1), case.rate_hz
    seconds = rng.uniform(*((5, 7) if case.kind in TONES_HZ else (20, 30)))
    n = round(seconds * rate)
    if case.kind == "sweep":
        hz = SWEPT_HZ[0] * (SWEPT_HZ[1] / SWEPT_HZ[0]) ** (np.arange(n) / n)
        signals = [LEVEL * np.cos(2 * np.pi * np.cumsum(hz) / rate)] * 2
    elif case.kind == "pink":
        hz = np.fft.rfftfreq(n, 1 / rate)
        shape = np.where((hz > SWEPT_HZ[0]) & (hz < SWEPT_HZ[1]), 1 / np.sqrt(np.maximum(hz, 1)), 0)
        signals = [np.fft.irfft(shape * np.fft.rfft(rng.standard_normal(n)), n) for _ in (0, 1)]
        signals = [LEVEL / np.sqrt(2) / 2 * s / s.std() for s in signals]
    else:
        signals = [LEVEL * np.cos(2 * np.pi * hz * np.arange(n) / rate) for hz in TONES_HZ[case.kind] for _ in (0, 1)]
    fade = np.clip(np.minimum(np.arange(n), np.arange(n)[::-1]) / (FADE_S * rate), 0, 1)
    found = [(None, round(GAP_S * rate))]
    for number, signal in enumerate(signals):
        found += [(number % 2, signal * fade), (None, round(GAP_S * rate))]
    return found


def whole_length(found, rate):
    """Returns a length of whole seconds, which has small prime factors and suits an FFT."""
    samples = sum(x if wall is None else len(x) for wall, x in found)
    seconds = -(-samples // rate)
    while any(seconds % p == 0 for p in (11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79)):
        seconds += 1
    return seconds * rate


def motion(case, cartridge, noise_rms):
    """Returns the stylus motion, one row for x and one for y."""
    found = passages(case)
    n = whole_length(found, case.rate_hz)
    walls = np.zeros((2, n))
    at = 0
    for wall, signal in found:
        if wall is None:
            at += signal
        else:
            walls[wall, at : at + len(signal)] = signal * cartridge.cut_gain[wall]
            at += len(signal)
    if noise_rms:
        walls += noise_rms * case.generator(2).standard_normal((2, n))
    return cartridge.cut() @ walls


def outputs(case, cartridge, noise_rms=0.0, lean_deg=LEAN_DEG):
    """Returns the two output channels at 0° and at 90°, one row per channel. `noise_rms`: of the noise that recurs with the groove, in each wall."""
    moved = motion(case, cartridge, noise_rms)
    n = moved.shape[1]
    turn = 2 * np.pi * np.arange(n) / case.rate_hz / REVOLUTION_S + case.generator(3).uniform(0, 2 * np.pi)
    lean = np.radians(lean_deg) * np.cos(turn)
    # A groove that leans turns the motion clockwise by the lean.
    moved = np.array([moved[0] * np.cos(lean) + moved[1] * np.sin(lean), moved[1] * np.cos(lean) - moved[0] * np.sin(lean)])
    f = np.fft.rfftfreq(n, 1 / case.rate_hz)
    coupling, gains = cartridge.coupling(f), cartridge.gains(f)
    at = []
    for tilt_deg in (0.0, 90.0):
        raw = np.fft.rfft(cartridge.axes(tilt_deg) @ moved, axis=1)
        at.append(np.array([np.fft.irfft(gains[i] * (raw[i] + coupling[i] * raw[1 - i]), n) for i in (0, 1)]))
    return at


def errors_of_gauge(case):
    """Returns the error of each tilt. If stratified, its mean over the session is so over the seeds, so that few sessions represent its distribution."""
    errors = case.gauge_deg * case.generator(5).standard_normal(len(LOGGED_DEG))
    if not case.stratified:
        return errors
    number, share, step = case.seed + 1, 0.0, 0.5
    while number:  # van der Corput's sequence: 1/2, 1/4, 3/4, 1/8, ...
        share, step, number = share + step * (number % 2), step / 2, number // 2
    return errors - errors.mean() + case.gauge_deg / np.sqrt(len(errors)) * statistics.NormalDist().inv_cdf(share)


def write_session(case, cartridge, folder):
    """Writes five recordings, steps.csv and session.json."""
    rng = case.generator(4)
    rms = LEVEL / np.sqrt(2) * (0.5 if case.kind == "pink" else 1.0)
    noise_rms = rms * 10 ** (rng.uniform(-60, -55) / 20)
    at0, at90 = outputs(case, cartridge, noise_rms * np.sqrt(case.locked))
    log = ["capture,tilt_deg"]
    for number, (logged, error) in enumerate(zip(LOGGED_DEG, errors_of_gauge(case))):
        true = np.radians(logged + error)
        samples = np.cos(true) * at0 + np.sin(true) * at90
        if case.locked < 1:
            samples += noise_rms * np.sqrt(1 - case.locked) * rng.standard_normal(samples.shape)
        write_wav(folder / f"step-{number + 1}.wav", np.ascontiguousarray(samples.T), case.rate_hz)
        log.append(f"step-{number + 1}.wav,{logged:g}")
    (folder / "steps.csv").write_text("\n".join(log) + "\n")
    bands = ["left", "right"] * len(TONES_HZ.get(case.kind, [0]))
    (folder / "session.json").write_text(json.dumps({"bands": bands, "gauge_u_deg": case.gauge_deg}))


def least_by_fft(case, cartridge):
    """Returns third octaves and the tilt of least crosstalk over them (flat), by FFT over each whole sweep, from outputs without noise and lean."""
    found = passages(case)
    # Each window begins with its sweep and includes the gap behind it, in which the resonance decays.
    gap, length = found[0][1], len(found[1][1]) + found[2][1]
    spectra = []
    for out in outputs(case, cartridge, lean_deg=0.0):
        windows = out[:, gap : gap + length], out[:, gap + length : gap + 2 * length]
        spectra.append([np.fft.rfft(window / level, axis=1) for window, level in zip(windows, cartridge.cut_gain)])
    f = np.fft.rfftfreq(length, 1 / case.rate_hz)
    thirds = THIRDS_HZ[(THIRDS_HZ > 2 * SWEPT_HZ[0]) & (THIRDS_HZ < SWEPT_HZ[1] / 2)]
    ranges = [slice(*np.searchsorted(f, centre * 10 ** np.array([-0.05, 0.05]))) for centre in thirds]

    def total(tilt_deg):
        cos, sin = np.cos(np.radians(tilt_deg)), np.sin(np.radians(tilt_deg))
        left, right = (cos * a + sin * b for a, b in zip(*spectra))
        # The outputs have gains. Those of the driven passages cancel, because each ratio is of one channel. The energy of each line is its weight.
        rl, lr = abs(right[0] / left[0]) ** 2, abs(left[1] / right[1]) ** 2
        energy = abs(left[0]) ** 2
        return sum(np.average((rl + lr)[r], weights=energy[r]) for r in ranges)

    return thirds, least_of(total, step=0.5, until=1e-5)
