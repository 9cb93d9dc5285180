# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests that one capture in every format that sox, ffmpeg, libsndfile's tools and flac write is read alike, or refused with a message that names the file.

Usage: flavours_test.py PROGRAM
"""
import hashlib
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

import numpy as np
import scipy.io.wavfile

PROGRAM = str(pathlib.Path(sys.argv.pop(1)).resolve())
RATE = 48000


def run(*words, stdout=subprocess.PIPE):
    return subprocess.run([str(w) for w in words], check=True, stdout=stdout, stderr=subprocess.PIPE, timeout=120).stdout


def sox(name, *format_words, more=()):
    return lambda source, target: run("sox", "-R", "-D", source, *format_words, target, *more), name


def ffmpeg(name, *codec_words):
    return lambda source, target: run("ffmpeg", "-v", "error", "-y", "-i", source, *codec_words, target), name


def sndfile(name, *format_words):
    return lambda source, target: run("sndfile-convert", *format_words, source, target), name


def flac_of(name, *words):
    def make(source, target):
        run("flac", "--totally-silent", "-f", source, "-o", target.with_suffix(".tmp.flac"))
        run("flac", "--totally-silent", "-f", *words, target.with_suffix(".tmp.flac"), "-o", target)
    return make, name


def streamed(name, codec):
    """Writes through a pipe, so that the header cannot be corrected afterwards and the sizes in it are not final."""
    def make(source, target):
        with open(target, "wb") as f:
            run("ffmpeg", "-v", "error", "-i", source, "-c:a", codec, "-f", "wav", "pipe:1", stdout=f)
    return make, name


LOSSLESS_24 = (
    sox("sox_s24.wav", "-b", 24), sox("sox_plain_pcm.wav", "-t", "wavpcm", "-b", 24), sox("sox_s32.wav", "-b", 32), sox("sox_f64.wav", "-e", "floating-point", "-b", 64),
    sox("sox_f32.wav", "-e", "floating-point", "-b", 32), sox("sox_s24.aiff", "-b", 24), sox("sox_s24.aifc", "-b", 24), sox("sox_s24.flac", "-b", 24),
    sox("sox_s24.w64", "-t", "w64", "-b", 24),
    ffmpeg("ff_s24.wav", "-c:a", "pcm_s24le"), ffmpeg("ff_s32.wav", "-c:a", "pcm_s32le"), ffmpeg("ff_f32.wav", "-c:a", "pcm_f32le"), ffmpeg("ff_f64.wav", "-c:a", "pcm_f64le"),
    ffmpeg("ff_rf64.wav", "-c:a", "pcm_s24le", "-rf64", "always"), ffmpeg("ff_bext.wav", "-c:a", "pcm_s24le", "-write_bext", 1, "-metadata", "description=capture"),
    ffmpeg("ff_s24.w64", "-c:a", "pcm_s24le"), ffmpeg("ff_s24.aiff", "-c:a", "pcm_s24be"), ffmpeg("ff_s24.flac", "-c:a", "flac", "-sample_fmt", "s32"),
    ffmpeg("ff_info.wav", "-c:a", "pcm_s24le", "-metadata", "title=tilt +1.0", "-metadata", "comment=LIST INFO"),
    sndfile("snd_s24.wav", "-pcm24"), sndfile("snd_s24.w64", "-pcm24"), sndfile("snd_s24.rf64", "-pcm24"),
    sndfile("snd_s24.aiff", "-pcm24"),
    flac_of("flac_s24.w64", "--decode", "--force-wave64-format"), flac_of("flac_s24.wav", "--decode"), flac_of("flac_s24.rf64", "--decode", "--force-rf64-format"),
)  # fmt: skip
# sndfile-convert scales what it writes as floats to a full-scale peak, so the samples differ but the crosstalk is the same.
RESCALED = (sndfile("snd_f32.wav", "-float32"), sndfile("snd_f64.wav", "-float64"))
PCM_16 = (sox("sox_s16.wav", "-b", 16), ffmpeg("ff_s16.wav", "-c:a", "pcm_s16le"), ffmpeg("ff_s16.flac", "-c:a", "flac", "-sample_fmt", "s16"), sndfile("snd_s16.aiff", "-pcm16"))
REFUSED = (
    sox("sox_u8.wav", "-b", 8, "-e", "unsigned-integer"), sox("sox_alaw.wav", "-e", "a-law"), sox("sox_ulaw.wav", "-e", "mu-law"), sox("sox_ima.wav", "-e", "ima-adpcm"),
    sox("sox_ms.wav", "-e", "ms-adpcm"), sox("sox_rifx.wav", "-B", "-b", 16), sox("sox_mono.wav", "-b", 24, more=("remix", 1)),
    sox("sox_quad.wav", "-b", 24, more=("remix", 1, 2, 0, 0)), ffmpeg("ff.caf", "-c:a", "pcm_s24le"), ffmpeg("ff.au", "-c:a", "pcm_s16be"), ffmpeg("ff.wv", "-c:a", "wavpack"),
    ffmpeg("ff_alac.caf", "-c:a", "alac"), ffmpeg("ff_u8.wav", "-c:a", "pcm_u8"), ffmpeg("ff_mulaw.wav", "-c:a", "pcm_mulaw"), ffmpeg("ff_adpcm.wav", "-c:a", "adpcm_ms"),
    ffmpeg("ff.mp2", "-c:a", "mp2"),
)  # fmt: skip


def measure(path, *more):
    done = subprocess.run([PROGRAM, "measure", "--json", "--quiet", *more, path], capture_output=True, text=True, timeout=120)
    return done.returncode, json.loads(done.stdout), done.stderr


def sum_of(*words):
    """The SHA-256 of what another program writes."""
    return hashlib.sha256(run(*words)).hexdigest()


def ratios(reading):
    leaks = [reading["crosstalk"][side]["same_passage"] for side in ("right_into_left", "left_into_right")]
    return [complex(x["re"], x["im"]) for x in leaks]


class Flavours(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp())
        cls.addClassCleanup(shutil.rmtree, cls.folder)
        t = np.arange(9 * RATE) / RATE
        rng = np.random.default_rng(5)
        x = 1e-4 * rng.standard_normal((t.size, 2))
        for start, amplitudes in ((0.5, (0.3, 0.006j)), (5.0, (0.01 + 0.004j, 0.3))):
            inside = (t >= start) & (t < start + 3.5)
            x[inside] += np.real(np.outer(np.exp(2j * np.pi * 1000 * t[inside]), amplitudes))
        cls.source = cls.folder / "source.wav"  # 24 bits in the upper bits of 32, which every 24-bit writer can keep
        scipy.io.wavfile.write(cls.source, RATE, (np.round(x * 2**23) * 256).astype("<i4"))
        cls.status, cls.reading, _ = measure(cls.source)
        assert cls.status == 0, cls.reading

    def made(self, flavour):
        make, name = flavour
        path = self.folder / name
        make(self.source, path)
        return path

    def test_lossless_24_bit_formats_give_the_same_reading(self):
        for flavour in LOSSLESS_24:
            with self.subTest(flavour[1]):
                status, reading, err = measure(self.made(flavour))
                self.assertEqual(0, status, err)
                for key in self.reading:
                    if key not in ("capture", "audio"):
                        self.assertEqual(self.reading[key], reading[key], key)

    def test_integers_have_the_sha256_of_their_samples_by_ffmpeg_and_sox(self):
        expected = sum_of("sox", self.source, "-t", "raw", "-e", "signed", "-b", 32, "-L", "-")
        integers = [f for f in LOSSLESS_24 if "_f32" not in f[1] and "_f64" not in f[1]]
        for flavour in (*integers, *PCM_16):
            with self.subTest(flavour[1]):
                path = self.made(flavour)
                found = measure(path, "--sha256")[1]["audio"]["sha256"]
                self.assertEqual(sum_of("ffmpeg", "-v", "error", "-i", path, "-f", "s32le", "-"), found)
                if path.suffix not in (".rf64", ".w64"):  # sox does not read RF64
                    self.assertEqual(sum_of("sox", path, "-t", "raw", "-e", "signed", "-b", 32, "-L", "-"), found)
                if flavour in integers:
                    self.assertEqual(expected, found)

    def test_floats_have_the_sha256_of_their_samples_by_ffmpeg(self):
        for flavour in (*(f for f in LOSSLESS_24 if "_f32" in f[1] or "_f64" in f[1]), *RESCALED):
            with self.subTest(flavour[1]):
                path = self.made(flavour)
                form = "f64le" if "_f64" in flavour[1] else "f32le"
                self.assertEqual(sum_of("ffmpeg", "-v", "error", "-i", path, "-f", form, "-"), measure(path, "--sha256")[1]["audio"]["sha256"])

    def test_all_32_bits_of_integers_count(self):
        path = self.folder / "full.wav"
        samples = np.random.default_rng(6).integers(-2**31, 2**31, (9 * RATE, 2), dtype=np.int64)
        samples = (scipy.io.wavfile.read(self.source)[1].astype(np.int64) + samples // 2**20).astype("<i4")
        scipy.io.wavfile.write(path, RATE, samples)
        found = measure(path, "--sha256")[1]["audio"]["sha256"]
        self.assertEqual(hashlib.sha256(samples.tobytes()).hexdigest(), found)
        self.assertEqual(sum_of("ffmpeg", "-v", "error", "-i", path, "-f", "s32le", "-"), found)
        self.assertEqual(sum_of("sox", path, "-t", "raw", "-e", "signed", "-b", 32, "-L", "-"), found)

    def test_rescaled_samples_do_not_change_the_crosstalk(self):
        for flavour in RESCALED:
            with self.subTest(flavour[1]):
                status, reading, err = measure(self.made(flavour))
                self.assertEqual(0, status, err)
                for a, b in zip(ratios(self.reading), ratios(reading)):
                    self.assertLess(abs(a - b), 1e-8)  # samples are rounded to 32-bit floats again: 3e-8 each, averaged over 170,000

    def test_16_bits_change_the_crosstalk_by_5e_6_at_most(self):
        for flavour in PCM_16:
            with self.subTest(flavour[1]):
                status, reading, err = measure(self.made(flavour))
                self.assertEqual(0, status, err)
                for a, b in zip(ratios(self.reading), ratios(reading)):
                    self.assertLess(abs(a - b), 5e-6)

    def test_resampling_to_96_khz_changes_the_crosstalk_by_3e_5_at_most(self):
        for flavour in (sox("up.wav", "-b", 24, "-r", 96000), ffmpeg("up.flac", "-ar", 96000, "-c:a", "flac", "-sample_fmt", "s32")):
            with self.subTest(flavour[1]):
                status, reading, err = measure(self.made(flavour))
                self.assertEqual(0, status, err)
                for a, b in zip(ratios(self.reading), ratios(reading)):
                    self.assertLess(abs(a - b), 3e-5)

    def test_a_header_that_is_not_final_is_read_with_a_warning(self):
        status, reading, err = measure(self.made(streamed("streamed.wav", "pcm_s24le")))
        self.assertEqual(0, status, err)
        self.assertEqual(self.reading["crosstalk"], reading["crosstalk"])
        self.assertIn("header_not_final", [w["code"] for w in reading["warnings"]])

    def test_a_flac_file_named_wav_is_read_as_flac(self):
        path = self.folder / "named.wav"
        shutil.copy(self.made(sox("named.flac", "-b", 24)), path)
        status, reading, err = measure(path)
        self.assertEqual(0, status, err)
        self.assertEqual(self.reading["crosstalk"], reading["crosstalk"])

    def refused(self, path):
        status, document, err = measure(path)
        self.assertEqual(1, status)
        self.assertIn(path.name, document["error"]["message"])
        self.assertRegex(err, r"\Aevenwall: [^\n]*\n\Z")

    def test_all_other_formats_are_refused_with_the_name_of_the_file(self):
        for flavour in REFUSED:
            with self.subTest(flavour[1]):
                self.refused(self.made(flavour))

    def test_files_without_audio_are_refused_with_their_name(self):
        whole = self.made(sox("whole.wav", "-b", 16)).read_bytes()
        for name, data in (("empty.wav", b""), ("twenty.wav", whole[:20]), ("header.wav", whole[:44])):
            with self.subTest(name):
                path = self.folder / name
                path.write_bytes(data)
                self.refused(path)

    def test_one_recording_may_contain_a_whole_session(self):
        """Three steps lie in one file and are distinguished by from_s and to_s. Sound outside a step's window does not count."""
        rng = np.random.default_rng(6)
        tilts, step_s = (-1.0, 0.5, 2.0), 9
        x = 1e-4 * rng.standard_normal((len(tilts) * step_s * RATE, 2))
        t = np.arange(step_s * RATE) / RATE
        for i, tilt in enumerate(tilts):
            turn = np.radians(tilt - 0.8)
            for start, amplitudes in ((0.5, (0.3 * np.cos(turn), -0.3 * np.sin(turn) + 0.009)), (5.0, (0.3 * np.sin(turn) + 0.009, 0.3 * np.cos(turn)))):
                inside = (t >= start) & (t < start + 3.7)
                x[i * step_s * RATE :][: t.size][inside] += np.outer(np.sin(2 * np.pi * 1000 * t[inside]), amplitudes)
        folder = self.folder / "long"
        folder.mkdir()
        scipy.io.wavfile.write(folder / "all.wav", RATE, np.round(x * 2**31 * (1 - 2**-20)).astype("<i4"))
        rows = [f"all.wav,{tilt},{i * step_s},{(i + 1) * step_s}\n" for i, tilt in enumerate(tilts)]
        (folder / "steps.csv").write_text("capture,tilt_deg,from_s,to_s\n" + "".join(rows))
        (folder / "session.json").write_text('{"gauge_u_deg": 0, "bands": ["left", "right"]}')
        done = subprocess.run([PROGRAM, "solve", "--json", "--quiet", folder], capture_output=True, text=True, timeout=120)
        solution = json.loads(done.stdout)
        self.assertEqual(3, len([s for s in solution["steps"] if s["used"]]), solution["warnings"])
        self.assertAlmostEqual(0.8, solution["least_crosstalk"]["tilt_deg"], delta=0.002)  # noise of 1e-4 gives 0.0003 degrees


if __name__ == "__main__":
    unittest.main(verbosity=2)
