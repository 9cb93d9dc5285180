# SPDX-License-Identifier: GPL-3.0-or-later
"""Builds audio files byte by byte, so that tests can damage them."""
import re
import shutil
import struct
import subprocess

ID3_SIZE = 10  # bytes of an ID3v2 header
W64_RIFF = bytes.fromhex("726966662e91cf11a5d628db04c10000")
W64_TAIL = bytes.fromhex("f3acd3118cd100c04f8edb8a")
AIFF_16K = struct.pack(">HQ", 16383 + 13, 16000 << 50)  # the 80-bit extended number 16000


def le(fmt, *values):
    return struct.pack("<" + fmt, *values)


def chunk(name, body, size=None):
    return name + le("I", len(body) if size is None else size) + body + b"\0" * (len(body) % 2)


def fmt(channels=2, rate=16000, bits=16, tag=1, frame=None, byte_rate=None):
    frame = channels * bits // 8 if frame is None else frame
    return le("HHIIHH", tag, channels, rate & 0xFFFFFFFF, (rate * frame if byte_rate is None else byte_rate) & 0xFFFFFFFF, frame & 0xFFFF, bits)


def wav(data, size=None, outer=None, before=b"", after=b"", magic=b"RIFF", form=None, **format_fields):
    body = before + chunk(b"fmt ", form if form is not None else fmt(**format_fields)) + chunk(b"data", data, size) + after
    return magic + le("I", len(body) + 4 if outer is None else outer) + b"WAVE" + body


def ds64(riff, data, frames, table=0):
    return chunk(b"ds64", le("QQQI", riff & (2**64 - 1), data & (2**64 - 1), frames, table))


def rf64(data, riff=None, size=None, table=0, with_ds64=True):
    head = ds64(len(data) + 72 if riff is None else riff, len(data) if size is None else size, len(data) // 4, table) if with_ds64 else b""
    return wav(data, size=0xFFFFFFFF, outer=0xFFFFFFFF, before=head, magic=b"RF64")


def w64_chunk(name, body, size=None):
    whole = 24 + len(body) if size is None else size
    return name + W64_TAIL + le("Q", whole) + body + b"\0" * (-len(body) % 8)


def w64(data, size=None, outer=None):
    body = b"wave" + W64_TAIL + w64_chunk(b"fmt ", fmt()) + w64_chunk(b"data", data, size)
    return W64_RIFF + le("Q", len(body) + 24 if outer is None else outer) + body


def aiff_chunk(name, body):
    return name + struct.pack(">I", len(body)) + body + b"\0" * (len(body) % 2)


def aiff(data, rate=AIFF_16K, bits=16, codec=None):
    """`data`: big-endian frames."""
    comm = struct.pack(">HIH", 2, len(data) // 4, bits) + rate + (codec + b"\0\0" if codec else b"")
    body = aiff_chunk(b"COMM", comm) + aiff_chunk(b"SSND", bytes(8) + data)
    return b"FORM" + struct.pack(">I", len(body) + 4) + (b"AIFC" if codec else b"AIFF") + body


def swapped(data):
    """Returns 16-bit samples in the other byte order."""
    turned = bytearray(len(data))
    turned[0::2], turned[1::2] = data[1::2], data[0::2]
    return bytes(turned)


def list_chunk(part_name, declared, body=b"abcd"):
    return chunk(b"LIST", b"INFO" + part_name + le("I", declared) + body)


def id3(size=90):
    return b"ID3\3\0\0" + bytes([size >> 21 & 127, size >> 14 & 127, size >> 7 & 127, size & 127]) + bytes(size)


def flac(path_of_wav, *words):
    """Returns the capture as FLAC, made by the reference encoder."""
    tool = shutil.which("flac")
    assert tool, "flac is needed: apt-get install flac"
    return subprocess.run([tool, "--silent", "--stdout", *words, str(path_of_wav)], check=True, capture_output=True).stdout


def flac_with(stream, total=None, md5=None):
    """Returns the stream with another number of total samples (36 bits) or another MD5 in its stream information."""
    changed = bytearray(stream)
    packed = int.from_bytes(changed[18:26], "big")
    if total is not None:
        changed[18:26] = (packed >> 36 << 36 | total).to_bytes(8, "big")
    if md5 is not None:
        changed[26:42] = md5
    return bytes(changed)


def flac_audio_at(stream):
    """Returns the offset of the first audio frame."""
    at = 4
    while True:
        last, size = stream[at] & 0x80, int.from_bytes(stream[at + 1:at + 4], "big")
        at += 4 + size
        if last:
            return at


def flac_frames(stream):
    """Returns the audio frames of a stream of fewer than 128; each begins with its sync code, its properties and its number."""
    start = flac_audio_at(stream)
    places = [start]
    sync = re.escape(stream[start:start + 2])
    while next_one := re.compile(sync + b".." + re.escape(bytes([len(places)])), re.S).search(stream, places[-1] + 1):
        places.append(next_one.start())
    return [stream[a:b] for a, b in zip(places, [*places[1:], None])]


def flac_tagged(stream, text):
    """Returns the stream with one tag in place of its own tags."""
    body = le("I", 0) + le("I", 1) + le("I", len(text)) + text
    blocks, at = [(0, stream[8:42])], 42
    while not stream[4] & 0x80 and at < flac_audio_at(stream):
        size = int.from_bytes(stream[at + 1:at + 4], "big")
        blocks.append((stream[at] & 0x7F, stream[at + 4:at + 4 + size]))
        at += 4 + size
    kept = [b for b in blocks if b[0] != 4] + [(4, body)]
    packed = b"".join(bytes([kind | (0x80 if i == len(kept) - 1 else 0)]) + len(b).to_bytes(3, "big") + b for i, (kind, b) in enumerate(kept))
    return b"fLaC" + packed + stream[flac_audio_at(stream):]
