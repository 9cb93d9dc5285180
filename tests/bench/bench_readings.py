# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes the readings of a long session as `measure` would write them, for an invented cartridge as vectors, without code of the analysis."""
import cmath
import json
import math
import random

GENERATOR_DEG = {"left": -0.2, "right": -1.2}
CUT_DEG = {"left": 0.2, "right": -0.3}
COUPLING = {"left": cmath.rect(0.006, 1.1), "right": cmath.rect(0.004, -2.0)}  # of the other channel into this one
GAIN_LEFT = cmath.rect(1.05, 0.05)
U_LEAK = 2e-5
SETTINGS_EACH = 4  # every tilt is set four times


def turned(x, y, angle_deg):
    a = math.radians(angle_deg)
    return x * math.cos(a) + y * math.sin(a), -x * math.sin(a) + y * math.cos(a)


def outputs(tilt_deg, band):
    """Returns the outputs (left, right) for a groove on one wall."""
    h = math.sqrt(0.5)
    motion = turned(h, h if band == "left" else -h, CUT_DEG[band])
    left, right = (sum(a * b for a, b in zip(motion, turned(h, s * h, tilt_deg + GENERATOR_DEG[name]))) for name, s in (("left", 1), ("right", -1)))
    return GAIN_LEFT * (left + COUPLING["left"] * right), right + COUPLING["right"] * left


def leak(draw, seen, gain_free):
    u_re, u_im = (U_LEAK * draw.uniform(0.8, 1.25) for _ in range(2))
    size = abs(gain_free)
    return {"db": 20 * math.log10(size), "phase_deg": math.degrees(cmath.phase(gain_free)), "re": gain_free.real, "im": gain_free.imag,
            "same_passage": {"re": seen.real, "im": seen.imag, "u_re": u_re, "u_im": u_im, "correlation": draw.uniform(-0.3, 0.3)},
            "u_re": u_re, "u_im": u_im, "band_db": 20 * math.log10(size) + draw.gauss(0, 0.3)}


def passage(draw, driven, start_s, frequency_hz, level_dbfs):
    return {"kind": "tone", "driven": driven, "relation": "in_phase" if driven == "both" else None, "start_s": start_s + draw.uniform(0, 0.1),
            "end_s": start_s + 20 + draw.uniform(0, 0.1), "frequency_hz": frequency_hz + draw.gauss(0, 0.005), "frequency_from_hz": None,
            "frequency_to_hz": None, "level_left_dbfs": level_dbfs[0] + draw.gauss(0, 0.01), "level_right_dbfs": level_dbfs[1] + draw.gauss(0, 0.01),
            "snr_db": 45 + draw.gauss(0, 0.3), "distortion_percent": 1 + draw.gauss(0, 0.05), "wow_percent": 0.1 + draw.gauss(0, 0.002)}


def reading(draw, number, logged_deg, true_deg, session):
    left, right = outputs(true_deg, "left"), outputs(true_deg, "right")
    noise = [complex(draw.gauss(0, U_LEAK), draw.gauss(0, U_LEAK)) for _ in range(2)]
    into_left, into_right = right[0] / right[1] + noise[0], left[1] / left[0] + noise[1]
    gain = cmath.rect(abs(left[0]) / abs(right[1]), cmath.phase((left[0] + right[0]) / (left[1] + right[1])))
    frequency_hz = 1000 + draw.uniform(-1, 1)
    crosstalk = {"frequency_hz": frequency_hz, "right_into_left": leak(draw, into_left, into_left / gain), "left_into_right": leak(draw, into_right, into_right * gain)}
    leaks_db = crosstalk["right_into_left"]["db"], crosstalk["left_into_right"]["db"]
    return {"schema": "evenwall/reading/1", "capture": f"step-{number:04}.wav", "tilt_deg": logged_deg, "tilt_units": None, "tilt_u": None, "use": "yes",
            "session": session, "audio": {"sample_rate_hz": 96000.0, "channels": 2, "duration_s": 75.0, "encoding": "WAV PCM 24-bit"},
            "passages": [passage(draw, "left", 2, frequency_hz, (-12, -12 + leaks_db[1])), passage(draw, "right", 25, frequency_hz, (-12 + leaks_db[0], -12)),
                         passage(draw, "both", 48, frequency_hz, (-12, -12))],
            "crosstalk": crosstalk, "crosstalk_spectrum": [crosstalk], "balance_db": 20 * math.log10(abs(gain)), "u_balance_db": 2e-4,
            "interchannel_phase_deg": math.degrees(cmath.phase(gain)), "rotation_deg": -true_deg, "shear_db": -35 + draw.gauss(0, 0.01),
            "warp_deg": 0.08 + draw.gauss(0, 0.001), "warnings": []}


def write_readings(path, count, gauge_u_deg=None, wrong=(), seed=1):
    """Writes `count` readings at tilts between -2.5° and 2.5°, with errors of 0.05° (standard deviation). Those in `wrong` err by one degree more."""
    draw = random.Random(seed)
    session = {"cartridge": "Larkspur Mk 2", "record": "Even Furrow reference", "bands": ["left", "right", "lateral"]}
    if gauge_u_deg is not None:
        session["gauge_u_deg"] = gauge_u_deg
    settings = max(2, -(-count // SETTINGS_EACH))
    with open(path, "w", encoding="utf-8") as out:
        for i in range(count):
            logged_deg = round(-2.5 + 5 * (i % settings) / (settings - 1), 3)
            true_deg = 1.005 * logged_deg + draw.gauss(0, 0.05) + (1 if i in wrong else 0)
            out.write(json.dumps(reading(draw, i, logged_deg, true_deg, session), separators=(",", ":")) + "\n")
