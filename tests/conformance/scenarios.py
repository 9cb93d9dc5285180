"""Ten simulated sessions whose readings and solutions are to be frozen: each shows another part of the method. Numbers of our own invention."""
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
    """PLAIN with the keys named like record__warp_deg replaced; None takes a key away."""
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


SCENARIOS = {
    "plain": changed(),
    "gauge_by_scatter": changed(session__gauge_u_deg=None),
    "two_steps": changed(steps=[{"tilt_deg": -1}, {"tilt_deg": 1.5}]),
    "one_step": changed(steps=[{"tilt_deg": 0.5}]),
    "user_units": changed(units_per_deg=-0.8, session__gauge_u_deg=None),
    "swapped": changed(cartridge__channels_swapped=True),
    "polarity_reversed": changed(cartridge__right_polarity_reversed=True),
    "vertical_45_rpm": changed(record__rpm=45, record__bands=bands("right", "left", "vertical"), session__bands=["right", "left", "vertical"],
                               session__rpm=45),
    "coarse_16_bit": changed(bits=16, sample_rate_hz=44100, noise__surface_noise_db=-36, noise__clicks_per_s=6, record__warp_deg=0.25,
                             record__cut_level_difference_db=0.8),
    "verify_and_as_found": changed(steps=[{"tilt_deg": -0.4, "use": "as_found"}] + [{"tilt_deg": t} for t in (-2, -0.7, 0.7, 2)] +
                                   [{"tilt_deg": 1.1, "use": "verify"}], session__record_u_deg=0.1),
}
