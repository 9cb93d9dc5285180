# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests rows C of docs/reliability.md: the file is sound, but its recorded content is faulty."""
import json
import os
import time
import unittest

import numpy as np

import containers as c
from bench import SANITIZED, SCENARIO, FaultCase, evenwall

RATE = 16000
LEAK = 10 ** (-30 / 20)  # amplitude in the undriven channel relative to the driven one, in each passage


def tone(seconds, hz=1000.0, rate=RATE, wow=0.0):
    t = np.arange(int(seconds * rate)) / rate
    return np.sin(2 * np.pi * (hz * t + wow * hz * np.sin(2 * np.pi * 0.556 * t) / (2 * np.pi * 0.556)))


def band(side, seconds=3.8, level=0.25, leak=LEAK, **how):
    driven = level * tone(seconds, **how)
    return np.stack([driven, leak * driven] if side == "left" else [leak * driven, driven], axis=1)


def gap(seconds=0.3, rate=RATE):
    return np.zeros((int(seconds * rate), 2))


def record(*parts, noise_db=-75, seed=1, rate=RATE):
    whole = np.concatenate([p for part in parts for p in (gap(rate=rate), part)] + [gap(rate=rate)])
    return whole + 10 ** (noise_db / 20) * np.random.default_rng(seed).standard_normal(whole.shape)


def plain(**how):
    return record(band("left", **how), band("right", **how))


def wav(x, rate=RATE, floating=False):
    if floating:
        return c.wav(x.astype("<f4").tobytes(), tag=3, bits=32, rate=rate)
    return c.wav(np.clip(np.round(x * 32768), -32768, 32767).astype("<i2").tobytes(), rate=rate)


class Content(FaultCase):
    """Tests faults that a recorder, a lead or a record can cause in a capture."""

    def read(self, x, *words, **how):
        path = self.put("bench.wav", wav(x, **how))
        return evenwall("measure", "--json", *words, path)

    def no_answer(self, x, pattern, *words, **how):
        path = self.put("bench.wav", wav(x, **how))
        self.assertRefused(evenwall("measure", *words, path, watch=self.folder), "bench.wav", pattern)

    def near(self, x, within_db, *codes, leak_db=-30.0, words=(), **how):
        document = self.assertAnswered(self.read(x, *words, **how), *codes)
        for way in ("right_into_left", "left_into_right"):
            self.assertAlmostEqual(leak_db, document["crosstalk"][way]["db"], delta=within_db, msg=way)
        return document

    def told(self, x, *words, **how):
        return {w["code"] for w in self.assertAnswered(self.read(x, *words, **how))["warnings"]}

    def test_C1_one_channel(self):
        self.assertRefused(self.measure(c.wav(self.samples, channels=1)), "one channel")
        x = plain()
        self.no_answer(np.stack([x[:, 0], x[:, 0]], axis=1), "the two channels are identical")

    def lateral_session(self, change):
        """Solves a session with a lateral band after `change` was applied to each capture."""
        bands = [b for side in ("left", "right", "lateral") for b in ({"band": side, "duration_s": 3.8}, {"band": None, "duration_s": 0.4})]
        facts = {**SCENARIO["session"], "bands": ["left", "right", "lateral"]}
        scenario = self.put("lateral.json", json.dumps({**SCENARIO, "record": {"bands": [{"band": None, "duration_s": 0.4}, *bands]}, "session": facts}))
        made = self.folder / f"lateral-{time.monotonic_ns()}"
        self.assertEqual(0, evenwall("simulate", "--scenario", scenario, "-o", made).status)
        for path in made.glob("*.wav"):
            data = path.read_bytes()
            x = np.frombuffer(data[44:], "<i2").reshape(-1, 2)
            path.write_bytes(data[:44] + change(x).astype("<i2").tobytes())
        return evenwall("solve", "--json", made)

    def test_C2_swapped_channels(self):
        x = plain()
        told = self.assertAnswered(self.read(x[:, ::-1], "--bands", "left,right"), "swapped_or_reversed")
        self.assertNotIn("swapped_or_reversed", self.read(x, "--bands", "left,right").warnings())
        self.assertEqual(["right", "left"], [p["driven"] for p in told["passages"]], "the swap must be reported, and the channels must not be swapped")
        self.assertAnswered(self.lateral_session(lambda y: y[:, ::-1]), "swapped_or_reversed")

    def test_C3_polarity(self):
        told = self.assertAnswered(self.lateral_session(lambda y: y * [1, -1]))
        self.assertTrue({w["code"] for w in told["warnings"]} & {"polarity_reversed", "swapped_or_reversed"}, told["warnings"])
        fine = self.assertAnswered(self.lateral_session(lambda y: y))
        self.assertFalse({w["code"] for w in fine["warnings"]} & {"polarity_reversed", "swapped_or_reversed"}, fine["warnings"])

    def test_C4_clipped(self):
        x = plain(level=0.9)
        self.no_answer(np.clip(3 * x, -1, 1), "are clipped. The recording is not measured")
        self.no_answer(np.clip(x, -0.3, 0.3), "are clipped. The recording is not measured")  # flat tops well below full scale
        slightly = plain(level=0.8)
        slightly[RATE:RATE + 600] = np.clip(3 * slightly[RATE:RATE + 600], -1, 1)  # 40 ms too loud
        self.assertAnswered(self.read(slightly), "clipped")

    def test_C4_flat_peaks_of_tones_without_noise_are_not_clipped(self):
        for hz, rate in ((200.0, 48000), (315.0, 96000), (1000.0, 192000)):
            with self.subTest(hz=hz, rate=rate):
                how = {"level": 0.7, "hz": hz, "rate": rate}
                x = record(band("left", **how), band("right", **how), noise_db=-200, rate=rate)
                self.assertNotIn("clipped", [w["code"] for w in self.near(x, 0.01, rate=rate)["warnings"]])
                self.no_answer(np.clip(x, -0.5, 0.5), "are clipped. The recording is not measured", rate=rate)

    def test_C5_dc_offset(self):
        plain_db = self.near(plain(), 0.01)
        for offset in (0.01, 0.1, 0.5):
            with self.subTest(offset):
                self.near(plain() + [offset, -offset], 0.01, "dc_offset")
        self.assertNotIn("dc_offset", [w["code"] for w in plain_db["warnings"]])

    def test_C6_silence(self):
        x = plain()
        self.no_answer(0 * x, "the recording is silent")
        for one in ([1, 0], [0, 1]):
            run = self.read(x * one)
            self.assertIn(run.status, (0, 1), run.err)
            self.assertNotRegex(run.out, r"\b(inf|nan)\b")
            if run.status == 0:
                crosstalk = run.json()["crosstalk"]
                self.assertTrue(crosstalk["right_into_left"] is None or crosstalk["left_into_right"] is None)
                self.assertIn("missing_passage", run.warnings())

    def test_C7_dropouts(self):
        self.assertFalse({"dropout", "samples_lost"} & self.told(plain()))
        for milliseconds in (1, 10, 100):
            with self.subTest(milliseconds):
                x, n = plain(), int(milliseconds * RATE / 1000)
                for at in (1.1, 2.2, 5.5, 7.0):
                    x[int(at * RATE):int(at * RATE) + n] = 0
                self.near(x, 0.05, "dropout")
        x = plain()
        self.near(np.concatenate([x[:2 * RATE], x[2 * RATE - 500:]]), 0.05, "samples_lost")  # one buffer is repeated
        self.near(np.concatenate([x[:2 * RATE], x[2 * RATE + 7:]]), 0.05, "samples_lost")
        self.near(np.concatenate([x[:2 * RATE], x[2 * RATE - 512:]]), 0.05)  # 32 whole periods: there is no jump

    def test_C8_clicks(self):
        x, draw = plain(), np.random.default_rng(8)
        at = draw.integers(0, len(x), 60)
        x[at, draw.integers(0, 2, 60)] += draw.choice([-0.7, 0.7], 60)
        self.near(x, 0.05, floating=True)

    def test_C9_hum(self):
        t = np.arange(len(plain())) / RATE
        for mains in (50, 60):
            for level_db in (-40, -30, -20):
                with self.subTest(mains=mains, level_db=level_db):
                    hum = sum(10 ** (level_db / 20) * 0.25 / k * np.sin(2 * np.pi * mains * k * t + k) for k in (1, 2, 3))
                    x = plain() + np.stack([hum, 0.7 * hum], axis=1)
                    told = {w["code"] for w in self.near(x, 0.05)["warnings"]}
                    self.assertEqual(level_db > -40, "hum" in told, told)

    def test_C10_speed(self):
        for factor in (0.97, 1.03):
            self.near(plain(hz=1000 * factor), 0.05, words=("--frequency", 1000))
        for wow in (0.001, 0.005, 0.01):
            with self.subTest(wow):
                self.near(plain(wow=wow), 0.05)

    def test_C11_frequency(self):
        for hz in (955, 1045):
            self.near(plain(hz=hz), 0.05, words=("--frequency", 1000))
        self.no_answer(plain(hz=1100), r"within 5 % of 1000.0 Hz; the recording has 1100", "--frequency", 1000)
        self.no_answer(record(noise_db=-30, *[gap(3)]), "no test tone")

    def test_C12_below_the_noise(self):
        document = self.assertAnswered(self.read(record(band("left", leak=1e-6), band("right", leak=1e-6), noise_db=-30)))
        leak = document["crosstalk"]["right_into_left"]["same_passage"]
        self.assertGreater(np.hypot(leak["u_re"], leak["u_im"]), 0.3 * np.hypot(leak["re"], leak["im"]), "the uncertainty must be as large as the noise requires")
        self.assertIn("noisy", [w["code"] for w in document["warnings"]])

    def test_C13_wrong_sample_rate(self):
        self.no_answer(plain(hz=500), "check the sample rate", "--frequency", 1000)

    def test_C14_passages(self):
        self.assertAnswered(self.read(record(band("left", 0.9), band("right", 0.9))), "short_passage")
        one = self.assertAnswered(self.read(record(band("left"))), "missing_passage")
        self.assertIsNone(one["crosstalk"]["right_into_left"])
        self.assertAnswered(self.read(record(band("right"), band("left")), "--bands", "left,right"), "swapped_or_reversed")
        twice = self.near(record(band("left"), band("right"), band("left"), band("right")), 0.05)
        self.assertEqual(4, len(twice["passages"]))
        both = np.stack([0.25 * tone(3.8)] * 2, axis=1) + 1e-4 * np.random.default_rng(3).standard_normal((int(3.8 * RATE), 2))
        self.no_answer(record(both), "every tone drives both channels")

    def test_C15_fades_and_music(self):
        x = record(band("left"), band("right"))
        x[:int(1.2 * RATE)] *= np.linspace(0, 1, int(1.2 * RATE))[:, None]
        self.near(x, 0.05)
        draw = np.random.default_rng(15)
        music = np.convolve(draw.standard_normal(2 * RATE), np.ones(30) / 30, "same")
        x = record(band("left"), band("right"))
        x[RATE // 4:RATE // 4 + RATE] += 0.4 * music[:RATE, None] * [1, 0.8]
        self.near(x, 0.05)

    def test_C16_crosstalk_below_a_quantisation_step(self):
        """16 bits, no noise, no dither: crosstalk of a third of a step gives only zeros, of three quarters of a step a distorted tone."""
        step = 1 / 32768 / 0.25
        for leak in (step / 3, 0.75 * step):
            with self.subTest(leak / step):
                document = self.assertAnswered(self.read(record(band("left", leak=leak), band("right", leak=leak), noise_db=-300)), "quantised")
                for way in ("right_into_left", "left_into_right"):
                    seen = document["crosstalk"][way]["same_passage"]
                    self.assertGreater(min(seen["u_re"], seen["u_im"]), 0.25 * step, "a quantised ratio must have an uncertainty")
                    self.assertLess(np.hypot(seen["re"] - leak, seen["im"]), 2 * np.hypot(seen["u_re"], seen["u_im"]))
                    if leak < step / 2:
                        self.assertEqual((0, None), (document["crosstalk"][way]["re"], document["crosstalk"][way]["db"]))
        self.assertNotIn("quantised", self.told(plain()))
        self.assertNotIn("quantised", self.told(record(band("left", leak=step / 3), band("right", leak=step / 3), noise_db=-90)), "noise acts as dither")

    def test_C17_levels(self):
        document = self.assertAnswered(self.read(plain() * [0.1, 1], floating=True))
        both = [document["crosstalk"][way]["db"] for way in ("right_into_left", "left_into_right")]
        for db in both:
            self.assertAlmostEqual(-30, db, delta=0.05)
        self.assertAnswered(self.read(plain(level=0.001) * 1.0, floating=True), "low_signal")

    def test_C18_no_tones(self):
        draw, n = np.random.default_rng(18), 6 * RATE
        self.no_answer(0.5 * draw.standard_normal((n, 2)), "no test tone")
        self.no_answer(np.stack([0.5 * (-1.0) ** np.arange(n), draw.standard_normal(n) * 1e-3], axis=1), "tone")
        square = np.stack([np.sign(tone(6)), 0.01 * np.sign(tone(6))], axis=1) * 0.5
        run = self.read(record(square))
        self.assertIn(run.status, (0, 1))
        if run.status == 0:
            self.assertTrue(run.warnings())

    def test_C19_rates(self):
        for rate in (8000, 11025, 44100, 192000, 384000, 768000):
            with self.subTest(rate):
                x = record(band("left", 2.0, rate=rate), band("right", 2.0, rate=rate), rate=rate)
                self.near(x, 0.05, rate=rate, words=("--rpm", 78))

    def test_C20_a_recording_of_a_day(self):
        """Time is in proportion to the length, and memory hardly grows; the test uses minutes instead of a day."""
        cost = {}
        for minutes in (10, 40):
            path = self.folder / f"{minutes}.wav"
            size = minutes * 60 * RATE * 4
            path.write_bytes(c.wav(self.samples, size=size, outer=size + 36))
            os.truncate(path, 44 + size)
            runs = [evenwall("measure", "--json", path) for _ in range(2)]
            self.assertEqual(0, runs[0].status, runs[0].err)
            cost[minutes] = (min(run.cpu_s for run in runs), runs[0].rss_kib)
        if SANITIZED:
            return
        self.assertLess(cost[40][0], 4 * 1.5 * cost[10][0] + 0.05)
        # The table of looks grows. 24 h hold 48 times this difference, which may be 96 MiB.
        self.assertLess((cost[40][1] - cost[10][1]) * 48, 96 * 1024)
        self.assertLess(cost[40][1], 64 * 1024)

    def test_C21_a_lost_sample_of_one_channel(self):
        for rate in (RATE, 48000):
            x = record(band("left", rate=rate), band("right", leak=0.5 * LEAK, rate=rate), rate=rate)
            self.assertNotIn("channels_slipped", self.told(x, rate=rate))
            for at_s in (2.1, 6.0):
                for channel in (0, 1):
                    with self.subTest(rate=rate, at_s=at_s, channel=channel):
                        shifted = np.append(np.delete(x.reshape(-1), 2 * int(at_s * rate) + channel), 0).reshape(-1, 2)
                        self.assertIn("channels_slipped", self.told(shifted, rate=rate))


if __name__ == "__main__":
    unittest.main()
