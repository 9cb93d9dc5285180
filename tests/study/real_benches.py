# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes sessions of readings as real benches make them, by vectors, without code of the analysis or of its simulator.

A session has a cartridge and a record drawn at random, tilts as a person sets them, and the bench's disturbances of gauge, signal and wiring. Each
disturbance has a strength, so that two of them can be combined at half strength. If a draw is a judgement, a comment in its line states this.
"""
import dataclasses
import math

import numpy as np

U_LEFT, U_RIGHT = np.array([1.0, 1.0]) / np.sqrt(2), np.array([1.0, -1.0]) / np.sqrt(2)
LEVEL_U = 0.003 / 8.686  # standard deviation of a level ratio, nepers
PHASE_U = math.radians(0.02)
LEAK_U = (6e-5, 6e-4)  # standard uncertainty of each part of the crosstalk: in a clean and in a noisy capture
STRENGTHS = ("setting_deg", "lowering_deg", "walk_deg", "backlash_deg", "drift_deg", "rounded_deg", "gain_drift_db", "gain_knob_db", "gain_jitter_db", "delay_deg",
             "delay_each_deg", "slope_error", "compression", "arm_offset", "quadrature")


@dataclasses.dataclass(frozen=True)
class Bench:
    """Holds the errors of the person and of the bench. Degrees and decibels are standard deviations, unless the comment calls them a magnitude."""
    settings: int = 5
    repeats: int = 1  # consecutive captures of one setting
    order: str = "upward"  # or "returning": up by odd settings and down by even ones; "up_and_down"; "shuffled"
    one_sided: bool = False  # tilts from 0 upward
    stated: str = "no"  # the gauge's uncertainty: "no", "yes" (its true value), or "counted" (the log is in units, not in degrees)
    setting_deg: float = 0.0  # each setting's own error
    lowering_deg: float = 0.0  # each capture's own error, because no two lowerings of the stylus are alike
    walk_deg: float = 0.0  # error of each move; these add up: counted turns, stacked shims
    backlash_deg: float = 0.0  # between the two directions of the last move (a magnitude)
    drift_deg: float = 0.0  # from the first capture to the last (a magnitude)
    rounded_deg: float = 0.0  # step to which the log is rounded (a magnitude)
    wrong_rows: int = 0  # rows logged wrong by 0.3° to 1°
    exchanged: bool = False  # two rows of the log are exchanged
    gain_drift_db: float = 0.0  # from the first capture to the last (a magnitude)
    gain_knob_db: float = 0.0  # one change in between (a magnitude)
    gain_jitter_db: float = 0.0
    delay_deg: float = 0.0  # phase between the channels, the same in all recordings (a magnitude)
    delay_each_deg: float = 0.0  # another such phase in each recording
    flipped: int = 0  # recordings with one channel's polarity reversed
    swapped: int = 0  # recordings with left and right exchanged
    slope_stated: float = 0.0  # slope_u of the session
    slope_error: float = 0.0  # error of each channel's turn per degree of tilt, in both parts
    compression: float = 0.0  # of the driven channel, not of the undriven one (a magnitude)
    third_harmonic_measured: bool = False
    own_third_percent: float = 0.0  # third harmonic of record and cartridge without compression
    arm_offset: float = 0.0  # the part missing from each logged degree: 1 − cos(offset) (a magnitude)
    quadrature: float = 0.0  # of the cutter's crosstalk (a magnitude)
    both_bands: bool = True

    def weaker(self, factor):
        return dataclasses.replace(self, **{name: factor * getattr(self, name) for name in STRENGTHS})

    def with_also(self, other):
        """Returns a bench with the disturbances of both. Of two plans of the tilts it has the one that differs from the usual."""
        usual = Bench()
        news = {f.name: getattr(other, f.name) for f in dataclasses.fields(Bench) if getattr(other, f.name) != getattr(usual, f.name)}
        for name in STRENGTHS:
            if name in news and getattr(self, name):
                news[name] = math.hypot(news[name], getattr(self, name))
        return dataclasses.replace(self, **news)


def turned(vector, angle_deg):
    """Returns the vector turned clockwise, as seen from the front."""
    a = math.radians(angle_deg)
    return np.array([vector[0] * math.cos(a) + vector[1] * math.sin(a), -vector[0] * math.sin(a) + vector[1] * math.cos(a)])


class Rig:
    """A cartridge on a record. Gives the outputs of both channels for a groove on either wall."""

    def __init__(self, rng, bench):
        self.least = rng.uniform(-2, 2)
        shear = rng.choice([-1, 1]) * rng.uniform(0.2, 1.5)  # degrees, a judgement: −49 to −32 dB
        cut_common, cut_apart = rng.normal(0, 0.2), rng.normal(0, 0.4)
        self.cut_deg = (cut_common + cut_apart, cut_common - cut_apart)
        self.generator_deg = (-self.least + shear + cut_common, -self.least - shear + cut_common)
        draw = lambda: rng.uniform(5e-4, 6e-3) * np.exp(1j * rng.uniform(-np.pi, np.pi))
        self.coupling = np.array([[1, draw()], [draw(), 1]])
        self.gain = np.array([10 ** (rng.normal(0, 0.7) / 20) * np.exp(1j * math.radians(rng.normal(0, 2))), 1])
        self.cut_level_db = rng.normal(0, 0.3)
        self.turn = 1 + bench.slope_error * (rng.normal(0, 1, 2) + 1j * rng.normal(0, 1, 2))
        self.quadrature = 1j * bench.quadrature * rng.choice([-1, 1], 2) * rng.uniform(0.5, 1, 2)
        self.compression = bench.compression
        self.middle = self.least

    def matrix(self, tilt_deg):
        """Returns the response without gains. Rows: outputs left and right; columns: grooves on the left and on the right wall."""
        left, right = turned(U_LEFT, self.cut_deg[0]), turned(U_RIGHT, self.cut_deg[1])
        motion = np.array([left + self.quadrature[0] * right, right + self.quadrature[1] * left]).T
        axes = []
        for axis, delta, turn in zip((U_LEFT, U_RIGHT), self.generator_deg, self.turn):
            straight, over = turned(axis, self.middle + delta), (tilt_deg - self.middle) * turn
            a = over * np.pi / 180  # complex if the turn's phase lags
            axes.append([straight[0] * np.cos(a) + straight[1] * np.sin(a), -straight[0] * np.sin(a) + straight[1] * np.cos(a)])
        return self.coupling @ np.array(axes) @ motion

    def own_leaks(self, tilt_deg):
        m = self.matrix(tilt_deg)
        return abs(m[0, 1] / m[0, 0]) ** 2, abs(m[1, 0] / m[1, 1]) ** 2

    def least_deg(self):
        """Returns the tilt of least crosstalk, by parabolas through three points until they no longer move."""
        at, wide = self.least, 0.5
        total = lambda t: sum(self.own_leaks(t))
        for _ in range(60):
            low, mid, high = total(at - wide), total(at), total(at + wide)
            move = 0.5 * wide * (low - high) / (low - 2 * mid + high)
            at, wide = at + np.clip(move, -1, 1), max(0.3 * wide, 2e-3)
            if abs(move) < 1e-9:
                break
        return float(at)

    def equal_deg(self, least):
        """Returns the tilt of equal crosstalk nearest to least crosstalk, within 6°, or None if it does not exist."""
        apart = lambda t: self.own_leaks(t)[0] - self.own_leaks(t)[1]
        grid = np.arange(least - 6, least + 6.001, 0.05)
        values = [apart(t) for t in grid]
        roots = []
        for a, b, fa, fb in zip(grid, grid[1:], values, values[1:]):
            if fa * fb <= 0:
                for _ in range(40):
                    mid = 0.5 * (a + b)
                    a, b = (mid, b) if apart(mid) * fa > 0 else (a, mid)
                roots.append(0.5 * (a + b))
        return min(roots, key=lambda r: abs(r - least)) if roots else None


def planned_tilts(rng, bench):
    """Returns the settings in the order of the bench, in degrees."""
    n = bench.settings
    if bench.one_sided:
        plan = np.linspace(0, rng.uniform(3, 4.5), n)
    else:
        half = rng.uniform(1.5, 3)
        plan = np.linspace(-half, half, n) + rng.uniform(-0.5, 0.5)
    step = bench.rounded_deg or 0.05
    plan = np.round(plan / step) * step
    if bench.order == "returning":
        plan = np.concatenate([plan[0::2], plan[1::2][::-1]])
    elif bench.order == "up_and_down":
        plan = np.concatenate([plan, plan[-2::-1]])
    elif bench.order == "shuffled":
        plan = rng.permutation(plan)
    return plan


def true_tilts(rng, bench, plan):
    """Returns the true tilt of the cartridge for each capture, if `plan` is logged."""
    moves = np.diff(plan)
    usual = np.median(np.abs(moves)) if len(moves) else 1.0
    true = plan * (1 - bench.arm_offset) + rng.normal(0, 1, len(plan)) * bench.setting_deg
    steps = np.concatenate([[1.0], np.abs(moves) / usual])
    true = true + np.cumsum(rng.normal(0, 1, len(plan)) * np.sqrt(steps)) * bench.walk_deg
    direction = np.sign(np.concatenate([[rng.choice([-1.0, 1.0])], moves]))  # the side from which the first setting was reached is also drawn
    true = true + 0.5 * bench.backlash_deg * direction
    if bench.rounded_deg:
        true = true + rng.uniform(-0.5, 0.5, len(plan)) * bench.rounded_deg
    true = np.repeat(true, bench.repeats)
    time = np.arange(len(true)) / max(len(true) - 1, 1)
    true = true + bench.drift_deg * rng.choice([-1, 1]) * time
    return true + rng.normal(0, 1, len(true)) * bench.lowering_deg


def complex_leak(rng, value, u, gain_free):
    noisy = value + u * (rng.normal() + 1j * rng.normal())
    free = gain_free * noisy / value
    return {"db": 20 * math.log10(abs(free)), "phase_deg": math.degrees(np.angle(free)), "re": free.real, "im": free.imag,
            "same_passage": {"re": noisy.real, "im": noisy.imag, "u_re": u, "u_im": u, "correlation": 0}, "u_re": u, "u_im": u,
            "band_db": 20 * math.log10(abs(free))}


def passage(driven, start_s, level_left, level_right, third_percent):
    return {"kind": "tone", "driven": driven, "relation": "in_phase" if driven == "both" else None, "start_s": start_s, "end_s": start_s + 20, "frequency_hz": 1000,
            "frequency_from_hz": None, "frequency_to_hz": None, "level_left_dbfs": level_left, "level_right_dbfs": level_right, "snr_db": 45,
            "distortion_percent": third_percent, "third_harmonic_percent": third_percent, "wow_percent": 0.1}


@dataclasses.dataclass
class Wiring:
    flipped: bool = False
    swapped: bool = False


def reading(rng, bench, rig, number, logged, true_deg, gain, wiring, u, session):
    """Returns one reading as `measure` writes it. `gain`: of the left channel over the right one, complex."""
    m = np.array([[gain, 0], [0, 1]]) @ rig.matrix(true_deg) @ np.diag([10 ** (rig.cut_level_db / 20), 1])
    both = m @ np.array([1, 1])
    if wiring.flipped:
        m, both = np.diag([-1, 1]) @ m, np.diag([-1, 1]) @ both
    if wiring.swapped:  # the louder channel identifies a band, so the bands are exchanged with the channels
        m, both = m[::-1, ::-1], both[::-1]
    louder = 1 + rig.compression  # the driven channel's output is smaller by this factor
    into_left, into_right = m[0, 1] / m[1, 1] * louder, m[1, 0] / m[0, 0] * louder
    level = abs(m[0, 0] / m[1, 1]) * math.exp(rng.normal(0, LEVEL_U))
    phase = np.angle(both[0] / both[1]) + rng.normal(0, PHASE_U) if bench.both_bands else 0.0
    antiphase = math.cos(phase) < 0  # `measure` takes such a passage for vertical and folds its phase into ±90°
    phase = math.remainder(phase + (math.pi if antiphase else 0), 2 * math.pi)
    ratio = level * np.exp(1j * phase)
    leaks = {"frequency_hz": 1000, "right_into_left": complex_leak(rng, into_left, u, into_left / ratio),
             "left_into_right": complex_leak(rng, into_right, u, into_right * ratio)}
    # A cubic curve makes a third harmonic of a third of its compression. A usual record and cartridge make some of their own.
    harmonic = 100 * rig.compression / 3 + bench.own_third_percent if bench.third_harmonic_measured else None
    passages = [passage("left", 2, -12, -12 + leaks["left_into_right"]["db"], harmonic), passage("right", 25, -12 + leaks["right_into_left"]["db"], -12, harmonic)]
    if bench.both_bands:
        passages.append({**passage("both", 48, -12, -12, harmonic), "relation": "antiphase" if antiphase else "in_phase"})
    units = bench.stated == "counted"
    return {"schema": "evenwall/reading/1", "capture": f"step-{number:02}.wav", "tilt_deg": None if units else logged, "tilt_units": logged if units else None,
            "tilt_u": None, "use": "yes", "session": session, "audio": {"sample_rate_hz": 96000, "channels": 2, "duration_s": 75, "encoding": "WAV PCM 24-bit"},
            "passages": passages, "crosstalk": leaks, "crosstalk_spectrum": [leaks], "balance_db": 20 * math.log10(level), "u_balance_db": 8.686 * LEVEL_U,
            "interchannel_phase_deg": math.degrees(phase), "rotation_deg": 0, "shear_db": -35, "warp_deg": 0.05, "warnings": []}


def gains_of(rng, bench, rig, count):
    """Returns the gain, left over right, for each capture."""
    time = np.arange(count) / max(count - 1, 1)
    db = bench.gain_drift_db * rng.choice([-1, 1]) * time + bench.gain_jitter_db * rng.normal(0, 1, count)
    db = db + bench.gain_knob_db * rng.choice([-1, 1]) * (np.arange(count) >= rng.integers(1, max(count, 2)))
    turn = bench.delay_deg * rng.choice([-1, 1]) + bench.delay_each_deg * rng.normal(0, 1, count)
    return rig.gain[0] * 10 ** (db / 20) * np.exp(1j * np.radians(turn))


def logged_of(rng, bench, plan, true):
    """Returns the logged tilts, in order of capture."""
    log = np.repeat(plan, bench.repeats).astype(float)
    for row in rng.permutation(len(log))[:bench.wrong_rows]:
        log[row] += rng.choice([-1, 1]) * rng.uniform(0.3, 1)
    if bench.exchanged:
        i, j = rng.permutation(len(log))[:2]
        log[i], log[j] = log[j], log[i]
    return np.round(log, 6)


@dataclasses.dataclass
class Case:
    """Holds a session and its true values in degrees. `number` is the value to set on the gauge."""
    readings: list
    least: float
    equal: float | None
    number: float
    last: float  # true tilt of the last capture


def case(bench, seed):
    rng = np.random.default_rng(seed)
    rig = Rig(rng, bench)
    least = rig.least_deg()
    plan = planned_tilts(rng, bench)
    true = true_tilts(rng, bench, plan)
    log = logged_of(rng, bench, plan, true)
    degrees_a_unit = 0.35 if bench.stated == "counted" else 1.0  # for example a quarter turn of a screw
    session = {"cartridge": "Marsh Harrier 4", "record": "Levelling Bands, side A", "bands": ["left", "right"] + (["lateral"] if bench.both_bands else [])}
    if bench.stated == "yes":
        session["gauge_u_deg"] = round(math.hypot(bench.setting_deg, bench.walk_deg), 6)
    if bench.slope_stated:
        session["slope_u"] = bench.slope_stated
    gains = gains_of(rng, bench, rig, len(true))
    odd = rng.permutation(len(true))
    wirings = [Wiring(i in odd[:bench.flipped], i in odd[-bench.swapped:] if bench.swapped else False) for i in range(len(true))]
    u = math.exp(rng.uniform(math.log(LEAK_U[0]), math.log(LEAK_U[1])))
    readings = [reading(rng, bench, rig, i + 1, float(log[i] / degrees_a_unit), true[i], gains[i], wirings[i], u, session) for i in range(len(true))]
    return Case(readings, least, rig.equal_deg(least), least / (1 - bench.arm_offset) / degrees_a_unit, float(true[-1]))
