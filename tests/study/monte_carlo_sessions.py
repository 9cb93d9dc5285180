# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes the random sessions of monte_carlo_study.py: readings of an invented cartridge, with one dominating term of the uncertainty budget.

The cartridge, its record and the keys of a reading are those of real_benches.py, which shares no code with the analysis. Two things are different here. The
noise of a ratio has a covariance with unequal parts and a correlation. The levels show no gain, because the session states 3 dB for the difference of the
bands as cut, and there is no both-channel band. The answer therefore rests on the ratios and the log only, which the second opinion uses too.
"""
import dataclasses
import math

import numpy as np

from real_benches import Bench, Rig, Wiring, gains_of, reading

DEGREE = math.pi / 180
SCALE_U = 0.01  # relative standard uncertainty of the gauge's degree, stated in each session in which the gauge's own scatter is stated
CUT_LEVEL_U_DB = 3.0


@dataclasses.dataclass(frozen=True)
class Regime:
    """Holds the range of each input's standard uncertainty. A value of a session is log-uniform in it. Angles are in degrees."""
    noise: tuple = (2e-5, 5e-5)  # of each part of a crosstalk ratio
    gauge_deg: tuple = (0.002, 0.004)
    gauge_stated: bool = True
    zero_deg: tuple | None = None
    record_deg: tuple | None = None
    slope: tuple | None = None


REGIMES = {
    "noise": Regime(noise=(3e-4, 1e-3), gauge_deg=(0.001, 0.002)),
    "gauge": Regime(gauge_deg=(0.02, 0.1)),
    "zero": Regime(zero_deg=(0.03, 0.15)),
    "record": Regime(record_deg=(0.03, 0.15)),
    "slope": Regime(slope=(0.01, 0.03)),
    "scatter": Regime(gauge_deg=(0.03, 0.1), gauge_stated=False),  # the session states neither gauge nor scale
}


@dataclasses.dataclass
class Stated:
    """Holds what a session states, in radians. None: not stated."""
    gauge: float | None
    scale: float | None
    slope: float
    zero: float
    record: float


@dataclasses.dataclass
class Session:
    """Holds the readings, the same data as arrays, and the true values in degrees."""
    readings: list
    logged: np.ndarray  # radians
    ratios: np.ndarray  # settings x 2 (right into left, left into right), complex
    covariances: np.ndarray  # settings x 2 x 2 x 2: of the real and the imaginary part
    stated: Stated
    least: float
    equal: float | None


def log_uniform(rng, limits):
    return float(np.exp(rng.uniform(*np.log(limits)))) if limits else 0.0


def with_noise(rng, crosstalk, ratio, u_typical, gain):
    """Adds noise to one noise-free crosstalk of a reading. Returns the noisy ratio and the covariance of its parts."""
    u = u_typical * rng.uniform(0.7, 1.4, 2)
    correlation = float(rng.uniform(-0.5, 0.5))
    cov = np.array([[u[0] ** 2, correlation * u[0] * u[1]], [correlation * u[0] * u[1], u[1] ** 2]])
    noise = np.linalg.cholesky(cov) @ rng.normal(size=2)
    noisy = ratio + complex(noise[0], noise[1])
    free = noisy * gain
    db = 20 * math.log10(abs(free))
    stated = {"re": noisy.real, "im": noisy.imag, "u_re": float(u[0]), "u_im": float(u[1]), "correlation": correlation}
    crosstalk.update({"db": db, "phase_deg": math.degrees(np.angle(free)), "re": free.real, "im": free.imag, "same_passage": stated, "u_re": float(u[0]),
                      "u_im": float(u[1]), "band_db": db})
    return noisy, cov


def facts(regime, stated):
    """Returns the session's facts as they stand in session.json."""
    told = {"cartridge": "Marsh Harrier 4", "record": "Levelling Bands, side A", "bands": ["left", "right"], "cut_level_u_db": CUT_LEVEL_U_DB}
    if regime.gauge_stated:
        told |= {"gauge_u_deg": stated.gauge / DEGREE, "gauge_scale_u": stated.scale}
    for key, value, present in (("gauge_zero_u_deg", stated.zero / DEGREE, regime.zero_deg), ("record_u_deg", stated.record / DEGREE, regime.record_deg),
                                ("slope_u", stated.slope, regime.slope)):
        if present:
            told[key] = value
    return told


def session(name, number):
    """Makes one session of the regime `name`. Its true values are those of the tilt from upright, on an error-free cut."""
    regime, rng = REGIMES[name], np.random.default_rng([list(REGIMES).index(name), number])
    noise, gauge_deg, slope = log_uniform(rng, regime.noise), log_uniform(rng, regime.gauge_deg), log_uniform(rng, regime.slope)
    zero_deg, record_deg = log_uniform(rng, regime.zero_deg), log_uniform(rng, regime.record_deg)
    known = regime.gauge_stated
    stated = Stated(gauge_deg * DEGREE if known else None, SCALE_U if known else None, slope, zero_deg * DEGREE, record_deg * DEGREE)
    bench = Bench(settings=int(rng.integers(4, 10)), stated="yes", slope_error=slope, both_bands=False)
    rig = Rig(rng, bench)
    half = rng.uniform(1.5, 3)
    logged = np.round(rng.permutation(np.linspace(-half, half, bench.settings)) + rng.uniform(-0.5, 0.5), 2)
    true = rng.normal(1, SCALE_U) * logged + rng.normal(0, gauge_deg, len(logged))
    gain = gains_of(rng, bench, rig, len(logged))
    told = facts(regime, stated)
    readings, ratios, covariances = [], [], []
    for i in range(len(logged)):
        one = reading(rng, bench, rig, i + 1, float(logged[i]), true[i], gain[i], Wiring(), 0.0, told)
        level = 10 ** (one["balance_db"] / 20)
        pairs = [(one["crosstalk"]["right_into_left"], 1 / level), (one["crosstalk"]["left_into_right"], level)]
        exact = [complex(c["same_passage"]["re"], c["same_passage"]["im"]) for c, _ in pairs]
        noisy = [with_noise(rng, c, q, noise, g) for (c, g), q in zip(pairs, exact)]
        readings.append(one)
        ratios.append([q for q, _ in noisy])
        covariances.append([c for _, c in noisy])
    shift = rng.normal(0, zero_deg) + rng.normal(0, record_deg)  # errors that no session shows: they move the true value against the log
    least = rig.least_deg()
    equal = rig.equal_deg(least)
    return Session(readings, logged * DEGREE, np.array(ratios), np.array(covariances), stated, least + shift, None if equal is None else equal + shift)
