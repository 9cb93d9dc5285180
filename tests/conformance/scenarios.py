# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds ten sessions with invented numbers. freeze.py freezes their readings and solutions. Each session covers another part of the method."""
import copy


def band(name, seconds=4.5, level_dbfs=-12.0, frequency_hz=1000):
    return {"band": name, "frequency_hz": frequency_hz, "duration_s": seconds, "level_dbfs": level_dbfs}


def bands(*names, frequency_hz=1000):
    out = [band(None, 1.5)]
    for name in names:
        out += [band(name, frequency_hz=frequency_hz), band(None, 1.2)]
    return out


PLAIN = {
    "schema": "evenwall/scenario/1",
    "sample_rate_hz": 48000,
    "bits": 24,
    "record": {"bands": bands("left", "right", "lateral"), "cut_error_left_deg": 0.2, "cut_error_right_deg": -0.1, "wow_percent": 0.1,
               "warp_deg": 0.08, "flutter_percent": 0.05, "speed_error_percent": 0.1},
    "cartridge": {"generator_error_left_deg": -0.3, "generator_error_right_deg": -1.7, "coupling_right_into_left": {"re": 0.004, "im": 0.003},
                  "coupling_left_into_right": {"re": -0.002, "im": 0.005}, "gain_imbalance_db": 0.5, "interchannel_phase_deg": 1.2,
                  "second_harmonic_percent": 1.0, "third_harmonic_percent": 0.3},
    "noise": {"surface_noise_db": -48, "clicks_per_s": 1, "rumble_db": -42, "hum_db": -50},
    "steps": [{"tilt_deg": t} for t in (-2, -1, 0, 1, 2)],
    "gauge_error_u_deg": 0.02,
    "session": {"cartridge": "Larkspur Mk 2", "record": "Even Furrow reference", "bands": ["left", "right", "lateral"], "gauge_u_deg": 0.02},
}


def changed(**by_path):
    """Returns PLAIN with the keys named like record__warp_deg replaced. None removes a key."""
    scenario = copy.deepcopy(PLAIN)
    for path, value in by_path.items():
        *where, last = path.split("__")
        at = scenario
        for key in where:
            at = at[key]
        if value is None:
            at.pop(last)
        else:
            at[last] = value
    return scenario


def swept(signal, seconds, from_hz=1000, to_hz=None):
    """Returns left-only and right-only bands of one signal."""
    out = [band(None, 1.0)]
    for name in ("left", "right"):
        out += [band(name, seconds, frequency_hz=from_hz) | {"signal": signal} | ({"frequency_to_hz": to_hz} if to_hz else {}), band(None, 1.0)]
    return out


def at_tilts(*tilts):
    return [{"tilt_deg": t} for t in tilts]


BANDS_ONLY = {"session__bands": ["left", "right"]}
# Crosstalk of −44 and −46 dB behind the cartridge.
ELECTRONICS = [[{"re": 1, "im": 0}, {"re": 0.006, "im": -0.002}], [{"re": -0.003, "im": 0.004}, {"re": 1, "im": 0}]]
STRAIGHT = changed(record__bands=bands("left", "right"), record__cut_error_left_deg=0, record__cut_error_right_deg=0, record__warp_deg=0,
                   record__wow_percent=0, record__flutter_percent=0, cartridge__generator_error_left_deg=0, cartridge__generator_error_right_deg=0, cartridge__coupling_right_into_left={"re": 0, "im": 0},
                   cartridge__coupling_left_into_right={"re": 0, "im": 0}, steps=at_tilts(0), gauge_error_u_deg=0)

# The ten scenarios. A `scenario` is simulated, measured, and solved from the frozen readings. The other keys state what is done in addition.
#   logged: the tilts in the log, if they differ from those that were set
#   calibrate: a scenario of the electronics alone, captured and measured first
#   one_recording: the steps follow each other in one capture, and those at the indices of `leads_swapped` were played with swapped leads;
#     solved from the audio, because readings do not hold these entries of the log
#   meter: a table of a voltmeter's readings; nothing is simulated
SCENARIOS = {
    "tones": {"scenario": changed()},
    "unknown_gauge_user_units": {"scenario": changed(units_per_deg=-0.8, session__gauge_u_deg=None)},
    "two_steps_no_lateral_16_bit": {
        "scenario": changed(steps=at_tilts(-1, 1.5), record__bands=bands("left", "right"), bits=16, sample_rate_hz=44100, noise__surface_noise_db=-36,
                            noise__clicks_per_s=6, record__warp_deg=0.25, record__cut_level_difference_db=0.8, **BANDS_ONLY)
    },
    "swapped_channels": {"scenario": changed(cartridge__channels_swapped=True, steps=at_tilts(-2, 0, 2))},
    "vertical_45_rpm_reversed": {
        "scenario": changed(record__rpm=45, record__bands=bands("right", "left", "vertical"), session__bands=["right", "left", "vertical"],
                            session__rpm=45, cartridge__right_polarity_reversed=True, steps=at_tilts(-2, 0, 2))
    },
    "wrong_step_verify_as_found": {
        "scenario": changed(steps=[{"tilt_deg": -0.4, "use": "as_found"}, *at_tilts(-2, -1, 0, 1, 2), {"tilt_deg": 1.1, "use": "verify"}],
                            session__record_u_deg=0.1),
        "logged": [-0.4, -2, -1, 0.7, 1, 2, 1.1],
    },
    "sweep_with_resonance": {
        "scenario": changed(record__bands=swept("log_sweep", 8, 250, 8000), steps=at_tilts(-2, 0, 2),
                            cartridge__resonances=[{"frequency_hz": 3000, "q": 2, "right_into_left": {"re": 0.008, "im": 0},
                                                    "left_into_right": {"re": -0.006, "im": 0.002}}], **BANDS_ONLY)
    },
    "pink_noise": {"scenario": changed(record__bands=swept("pink_noise", 6), steps=at_tilts(-1.2, 1.8), **BANDS_ONLY)},
    "meter_table": {
        # Shear 0.02, quadratures 0.015 and 0.01, least crosstalk at 0.4°; the decibels are rounded to a tenth.
        "meter": "tilt_deg,right_into_left_db,left_into_right_db,balance_db,u_db\n-2,-31.5,-24.1,0.6,0.1\n"
                 "-1,-36.1,-26.8,0.6,0.1\n"
                 "0,-34.0,-30.8,0.6,0.1\n"
                 "1,-29.4,-37.2,0.6,0.1\n"
                 "2,-26.0,-37.9,0.6,0.1\n"
    },
    "calibrated_one_recording_swapped_leads": {
        "scenario": changed(steps=at_tilts(-2, 0, 1.5, 2), cartridge__electronics=ELECTRONICS, session__gauge_u_deg=0.03),
        "calibrate": STRAIGHT | {"cartridge": STRAIGHT["cartridge"] | {"electronics": ELECTRONICS}},
        "one_recording": True,
        "leads_swapped": [2],
    },
}
