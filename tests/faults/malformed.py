# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds the malformed kinds of audio file that made decoders fail, each with the result that evenwall must give."""
import random
import struct

import containers as c

REFUSE = "refuse"


def floats(samples, change=lambda i, x: x, letter="f"):
    values = [change(i, s / 32768) for i, s in enumerate(struct.unpack(f"<{len(samples) // 2}h", samples))]
    return c.wav(struct.pack(f"<{len(values)}{letter}", *values), tag=3, bits=32 if letter == "f" else 64)


def riff(*chunks):
    body = b"".join(chunks)
    return b"RIFF" + c.le("I", len(body) + 4) + b"WAVE" + body


def valid_bits(samples, bits, valid):
    form = c.le("HHIIHHHHI", 0xFFFE, 2, 16000, 16000 * bits // 4, bits // 4, bits, 22, valid, 3) + bytes.fromhex("0100000000001000800000aa00389b71")
    wide = b"".join(b"\0" + samples[i:i + 2] for i in range(0, len(samples), 2)) if bits == 24 else samples
    return c.wav(wide, form=form)


def wav_kinds(s):
    """Returns {name: (bytes, REFUSE, or the list of required warnings, or None if either end is accepted)}."""
    n, form, data = len(s), c.chunk(b"fmt ", c.fmt()), c.chunk(b"data", s)
    return {
        "data chunk cut near its end": (c.wav(s)[:-500], ["truncated"]),
        "data chunk cut in half": (c.wav(s)[:n // 2], ["truncated"]),
        "data and RIFF size 0xFFFFFFFF": (c.wav(s, size=0xFFFFFFFF, outer=0xFFFFFFFF), ["header_not_final"]),
        "data size 0xFFFFFFFF": (c.wav(s, size=0xFFFFFFFF), ["header_not_final"]),
        "data size 0, RIFF size 8": (c.wav(s, size=0, outer=8), ["header_not_final"]),
        "data size 0, RIFF size right": (c.wav(s, size=0), REFUSE),
        "data size too small": (c.wav(s, size=n - 6000), ["skipped_bytes"]),
        "header only": (c.wav(b""), REFUSE),
        "1 channel": (c.wav(s, channels=1), REFUSE),
        "3 channels": (c.wav(s, channels=3), REFUSE),
        "1024 channels": (c.wav(s, channels=1024), REFUSE),
        "0 channels": (c.wav(s, channels=0), REFUSE),
        "65535 channels": (c.wav(s, channels=65535), REFUSE),
        "rate 0": (c.wav(s, rate=0), REFUSE),
        "rate −1": (c.wav(s, rate=-1), REFUSE),
        "rate 1": (c.wav(s, rate=1), REFUSE),
        "rate 2147483647": (c.wav(s, rate=2147483647), REFUSE),
        "wrong frame size": (c.wav(s, bits=24, frame=4), REFUSE),
        "byte rate lies": (c.wav(s, byte_rate=7), REFUSE),
        "16 valid bits in 24": (valid_bits(s, 24, 16), []),
        "25 valid bits in 24": (valid_bits(s, 24, 25), REFUSE),
        "float NaN": (floats(s, lambda i, x: float("nan") if i == 70001 else x), ["not_finite"]),
        "float Inf": (floats(s, lambda i, x: float("inf") if i == 70001 else x), ["not_finite"]),
        "float 3.4e38": (floats(s, lambda i, x: 3.4e38 if i == 70001 else x), None),
        "all NaN": (floats(s, lambda i, x: float("nan")), REFUSE),
        "denormal doubles": (floats(s, lambda i, x: x * 1e-300, "d"), REFUSE),
        "doubles that no float holds": (floats(s, lambda i, x: x * 1e300, "d"), REFUSE),
        "two formats": (riff(form, form, data), REFUSE),
        "two data chunks": (riff(form, data, data), REFUSE),
        "format after the data": (riff(data, form), REFUSE),
        "no format": (riff(data), REFUSE),
        "no data": (riff(form), REFUSE),
        "format of 4 bytes": (riff(c.chunk(b"fmt ", b"\1\0\2\0"), data), REFUSE),
        "odd data length": (c.wav(s + b"\1"), ["truncated"]),
        "trailing garbage": (c.wav(s) + b"garbage \x1b[2J" * 9, ["skipped_bytes"]),
        "ID3 in front": (c.id3() + c.wav(s), ["skipped_bytes"]),
        "ID3 of 256 MB": (c.id3(2**28 - 1) + c.wav(s), REFUSE),
        "20000 empty chunks": (c.wav(s, before=c.chunk(b"junk", b"") * 20_000), REFUSE),
        "sub-chunk of 2^32 − 8": (c.wav(s, before=c.list_chunk(b"ISFT", 0xFFFFFFF8)), REFUSE),
        "sub-chunk of 2^32 − 1": (c.wav(s, before=c.list_chunk(b"ISFT", 0xFFFFFFFF)), REFUSE),
        "script, escapes, formula in tags": (c.wav(s, before=c.list_chunk(b"INAM", 4, b"<\x1b=\xff")), []),
        "IMA ADPCM": (c.wav(s, tag=0x11, bits=4, frame=65535), REFUSE),
        "MS ADPCM": (c.wav(s, tag=2, bits=4, frame=0), REFUSE),
        "MP3 in WAV": (c.wav(s, tag=0x55, bits=0), REFUSE),
    }


def other_kinds(s, flac):
    big, start = c.swapped(s), c.flac_audio_at(flac)
    noise = random.Random(5).randbytes(5000)
    au = b".snd" + struct.pack(">IIIII", 24, len(s), 3, 16000, 2) + big
    flipped = flac[:start + 9000] + bytes([flac[start + 9000] ^ 0x40]) + flac[start + 9001:]
    return {
        "RF64 sizes 2^62": (c.rf64(s, riff=2**62, size=2**62), ["header_not_final"]),
        "RF64 sizes 2^64 − 1": (c.rf64(s, riff=2**64 - 1, size=2**64 - 1), ["header_not_final"]),
        "RF64 without ds64": (c.rf64(s, with_ds64=False), REFUSE),
        "RF64 with a vast table": (c.rf64(s, table=0xFFFFFFFF), REFUSE),
        "BW64": (c.wav(s, magic=b"BW64"), REFUSE),
        "W64 sizes 2^63 − 1": (c.w64(s, size=2**63 - 1, outer=2**63 - 1), ["header_not_final"]),
        "W64 sizes 2^64 − 8": (c.w64(s, size=2**64 - 8, outer=2**64 - 8), ["header_not_final"]),
        "W64 chunk of 8 bytes": (c.w64(s, size=8), REFUSE),
        "noise": (noise, REFUSE),
        "AIFF": (c.aiff(big), []),
        "AIFF rate infinite": (c.aiff(big, rate=b"\x7f\xff" + b"\xff" * 8), REFUSE),
        "AIFF with offset beyond": (c.aiff(big).replace(b"SSND" + struct.pack(">I", 8 + len(big)) + bytes(4), b"SSND" + struct.pack(">I", 8 + len(big)) + b"\xff" * 4), REFUSE),
        "AIFC of unknown codec": (c.aiff(big, codec=b"what"), REFUSE),
        "AU": (au, REFUSE),
        "FLAC cut in half": (flac[:len(flac) // 2], REFUSE),
        "FLAC bit flipped": (flipped, REFUSE),
        "FLAC header only": (flac[:start], REFUSE),
        "FLAC wrong MD5": (c.flac_with(flac, md5=b"\x55" * 16), []),
        "FLAC total 0": (c.flac_with(flac, total=0), []),
        "FLAC total 2^36 − 1": (c.flac_with(flac, total=2**36 - 1), []),
        "FLAC total 2^35": (c.flac_with(flac, total=2**35), REFUSE),
        "FLAC with another tail": (flac + noise, None),
    }


INTERESTING = [0, 1, 2, 0x7F, 0x80, 0xFF, 0x7FFF, 0x8000, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFF0, 0xFFFFFFFE, 0xFFFFFFFF]
HEAD = 160  # bytes that hold the headers


def mutated(good, draw):
    """Returns a copy with one to four changes, most of them in the headers."""
    bytes_ = bytearray(good)
    for _ in range(draw.randint(1, 4)):
        at = draw.randrange(min(HEAD, len(bytes_)) if draw.random() < 0.7 else len(bytes_)) if bytes_ else 0
        kind = draw.randrange(7)
        if kind == 0 and bytes_:
            bytes_[at] ^= 1 << draw.randrange(8)
        elif kind == 1 and bytes_:
            bytes_[at] = draw.randrange(256)
        elif kind == 2:
            width = draw.choice((1, 2, 4, 8))
            bytes_[at:at + width] = (draw.choice(INTERESTING) % 256**width).to_bytes(width, draw.choice(("little", "big")))
        elif kind == 3:
            del bytes_[at:at + draw.choice((1, 2, 4, 8, 100, 5000))]
        elif kind == 4:
            bytes_[at:at] = bytes_[at:at + draw.choice((1, 4, 8, 24, 100))] * draw.randint(1, 3)
        elif kind == 5:
            bytes_[at:at] = draw.randbytes(draw.choice((1, 2, 4, 8, 30)))
        else:
            del bytes_[draw.randrange(len(bytes_) + 1):]
    return bytes(bytes_)
