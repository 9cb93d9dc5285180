# SPDX-License-Identifier: GPL-3.0-or-later
"""Provides sounds from outside the project as NumPy arrays at 48 kHz: speech synthesisers, Debian's spoken and musical samples, noise by FFT."""
import glob
import subprocess

import numpy as np
import scipy.fft
import scipy.io.wavfile

RATE = 48000
ASTERISK = "/usr/share/asterisk/sounds/en_US_f_Allison"
# Real tones among Asterisk's speech (a 0.1 s beep and an error signal of two). A tone detector must find them, so they are not negatives.
ASTERISK_BEEPS = ("beep.wav", "beeperr.wav")
TEXTS = (
    "Track one. Left channel only. One thousand hertz, at a peak velocity of eight centimetres per second.",
    "The following band is recorded on the right channel. Adjust the tilt until the other channel is as quiet as it can be.",
    "Oooooh, hmmmm, aaaaah. Mmmmmmm. Eeeeeee. La la la. One, two, three, four, five, six, seven, eight, nine, ten.",
    "In the long evening the reed beds hummed, and no one on the moor knew whether the wind or the water made the sound.",
    "Band four: pink noise in both channels. Band five: a slow glide. Between the bands you hear a second of silent groove.",
)


def run(*words, data=None):
    return subprocess.run([str(w) for w in words], check=True, capture_output=True, input=data, timeout=600).stdout


def sound(path):
    """Returns any file that sox reads, as one channel."""
    raw = ["-t", "raw", "-r", 16000, "-e", "signed", "-b", 16, "-c", 1] if str(path).endswith(".raw") else []
    return np.frombuffer(run("sox", "-R", "-D", *raw, path, "-t", "f32", "-c", 1, "-r", RATE, "-"), "<f4").astype(float)


def resampled(wav_bytes):
    return np.frombuffer(run("sox", "-R", "-D", "-t", "wav", "-", "-t", "f32", "-c", 1, "-r", RATE, "-", data=wav_bytes), "<f4").astype(float)


def espeak(text, voice="en-gb", speed=150, pitch=50):
    return resampled(run("espeak-ng", "-v", voice, "-s", speed, "-p", pitch, "--stdout", text))


def flite(text, voice="slt"):
    return resampled(run("flite", "-voice", voice, "-t", text, "-o", "/dev/stdout"))


def sounds_of(pattern, leave_out=()):
    paths = sorted(p for p in glob.glob(pattern) if p.rsplit("/", 1)[1] not in leave_out)
    if not paths:
        raise FileNotFoundError(f"{pattern}: install the Debian packages that README.md names for the tests")
    return [sound(p) for p in paths]


def pink(rng, n):
    """Returns pink noise of unit rms, 20 Hz to half the rate."""
    f = np.fft.rfftfreq(n, 1 / RATE)
    shape = np.where(f < 20, 0, 1 / np.sqrt(np.maximum(f, 20)))
    x = scipy.fft.irfft(shape * (rng.standard_normal(f.size) + 1j * rng.standard_normal(f.size)), n)
    return x / np.sqrt(np.mean(x * x))


def hum(rng, n, base_hz, harmonics, level, rate=RATE):
    """Returns harmonics k of the mains, each level/k, with random phases. One period is a whole number of samples, so it is made once and repeated."""
    period = round(rate / base_hz)
    assert period * base_hz == rate
    t = np.arange(period) / rate
    return np.resize(sum(level / k * np.sin(2 * np.pi * base_hz * k * t + rng.uniform(0, 6)) for k in range(1, harmonics + 1)), n)


def write_wav16(path, x, rate=RATE):
    scipy.io.wavfile.write(path, rate, np.round(np.clip(x, -1, 1 - 2**-15) * 2**15).astype("<i2"))
