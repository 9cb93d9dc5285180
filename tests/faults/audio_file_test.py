# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests rows F of docs/reliability.md: the audio file does not match its header."""
import pathlib
import random
import struct
import unittest

import containers as c
from bench import FaultCase, SANITIZED, evenwall

DOCS = pathlib.Path(__file__).resolve().parents[2] / "docs"


class AudioFile(FaultCase):
    """Tests containers and their headers."""

    def assertSameLeaks(self, document):
        self.assertEqual(self.untouched(), document["crosstalk"])

    def refuse_all(self, cases, *patterns, limit_s=10):
        for name, content in cases.items():
            with self.subTest(name):
                self.assertRefused(self.measure(content), "bench.wav", *patterns, limit_s=limit_s)
                self.assertEqual("what stood here before\n", self.old.read_text())

    def test_F1_no_audio(self):
        self.refuse_all({"empty": b"", "12 bytes": b"RIFF\4\0\0\0WAVE", "header only": c.wav(b""),
                         "format only": b"RIFF\x1c\0\0\0WAVE" + c.chunk(b"fmt ", c.fmt())}, "no audio")

    def test_F2_truncated(self):
        run = self.measure(self.good[:-1000])
        document = self.assertAnswered(run, "truncated")
        self.assertSameLeaks(document)
        told = next(w["message"] for w in document["warnings"] if w["code"] == "truncated")
        self.assertIn(str(len(self.samples)), told)
        self.assertIn(str(len(self.samples) - 1000), told)
        strict = evenwall("measure", "--json", "--strict", self.put("cut.wav", self.good[:-1000]), "-o", self.old, watch=self.folder)
        self.assertEqual((1, []), (strict.status, strict.changed))
        self.assertIn("--strict", strict.err)

    def test_F3_header_never_finished(self):
        for size, outer in ((0xFFFFFFFF, 0xFFFFFFFF), (0, 8), (0, 0), (0xFFFFFFFF, 8), (0x7FFFFFFF, 0x7FFFFFFF)):
            with self.subTest(size=size, outer=outer):
                self.assertSameLeaks(self.assertAnswered(self.measure(c.wav(self.samples, size=size, outer=outer)), "header_not_final"))

    def test_F4_undeclared_bytes(self):
        run = self.measure(c.wav(self.samples, size=len(self.samples) - 2000))
        document = self.assertAnswered(run, "skipped_bytes")
        self.assertSameLeaks(document)
        self.assertIn("2000", next(w["message"] for w in document["warnings"] if w["code"] == "skipped_bytes"))

    def test_F5_riff_over_4_gib(self):
        folder = self.broken_session("capture,tilt_deg,to_s\nlong.wav,0,8.6\n")
        with open(folder / "long.wav", "wb") as long:
            long.write(c.wav(self.samples, size=8192, outer=8192 + 36))
            long.truncate(44 + 8192 + 2**32)
        run = evenwall("solve", "--json", folder)
        self.assertAnswered(run, "header_not_final")
        self.assertRegex(run.out, f"{2**32 + 8192} bytes are measured as audio")

    def test_F6_rf64(self):
        n = len(self.samples)
        self.assertSameLeaks(self.assertAnswered(self.measure(c.rf64(self.samples))))
        for size in (n + 4000, 2**62, 2**63 - 1, 2**63, 2**64 - 1, 2**64 - 8):
            with self.subTest(size=size):
                document = self.assertAnswered(self.measure(c.rf64(self.samples, riff=size + 72, size=size)))
                self.assertSameLeaks(document)
                self.assertTrue({"truncated", "header_not_final"} & {w["code"] for w in document["warnings"]})
        self.refuse_all({"no ds64": c.rf64(self.samples, with_ds64=False), "table": c.rf64(self.samples, table=0xFFFFFFFF),
                         "table wraps": c.rf64(self.samples, table=0x15555556),
                         "two": c.wav(self.samples, magic=b"RF64", before=2 * c.ds64(1, 2, 3)),
                         "short": c.wav(self.samples, magic=b"RF64", before=c.chunk(b"ds64", bytes(12)))})

    def test_F7_w64(self):
        self.assertSameLeaks(self.assertAnswered(self.measure(c.w64(self.samples))))
        for size in (2**63 - 1, 2**64 - 8, 2**62 + 24, 0):
            with self.subTest(size=size):
                self.assertSameLeaks(self.assertAnswered(self.measure(c.w64(self.samples, size=size, outer=size)), "header_not_final"))
        document = self.assertAnswered(self.measure(c.w64(self.samples, size=len(self.samples) + 424)), "truncated")
        self.assertSameLeaks(document)

    def test_F8_other_files(self):
        au = b".snd" + struct.pack(">IIIII", 24, len(self.samples), 3, 16000, 2) + self.samples
        seen = {"BW64": c.wav(self.samples, magic=b"BW64"), "RIFX": c.wav(self.samples, magic=b"RIFX"), "AU": au,
                "CAF": b"caff\0\1\0\0desc" + bytes(64), "text": b"left,right\n1,2\n" * 10, "PNG": b"\x89PNG\r\n\x1a\n" + bytes(99),
                "Ogg": b"OggS" + bytes(64), "MP4": b"\0\0\0\x20ftypM4A " + bytes(64)}
        for name, content in seen.items():
            with self.subTest(name):
                self.assertRefused(self.measure(content), name, "Give a WAV, RF64, W64, AIFF or FLAC file")
        noise = random.Random(8).randbytes(4096)
        for name in ("x.wav", "x.vox", "x.gsm", "x.raw", "x.flac"):
            with self.subTest(name):
                self.assertRefused(self.measure(noise, name), name, "unknown", "Give a WAV")
        self.assertRefused(self.measure(b"RIFF\x40\0\0\0AVI LIST" + bytes(60)), "WAVE")

    def test_F9_channels(self):
        for channels in (0, 1, 3, 1024, 65535):
            with self.subTest(channels):
                self.assertRefused(self.measure(c.wav(self.samples, channels=channels)), "channel")

    def test_F10_sample_rate(self):
        for rate in (0, 1, -1, 2**31 - 1, 7999, 768001):
            with self.subTest(rate):
                self.assertRefused(self.measure(c.wav(self.samples, rate=rate)), "8000 to 768000 Hz")
        for rate in (b"\x7f\xff" + bytes(8), b"\xff\xff" + b"\xff" * 8, bytes(10), b"\xc0\x0c" + struct.pack(">Q", 16000 << 50)):
            with self.subTest(rate):
                self.assertRefused(self.measure(c.aiff(c.swapped(self.samples), rate=rate)), "8000 to 768000 Hz")
        # Only AIFF can hold a rate with a half; the rate from the metadata is used.
        odd = self.measure(c.aiff(c.swapped(self.samples), rate=struct.pack(">HQ", 16383 + 15, int(44099.5 * 2**48))))
        self.assertEqual(44099.5, self.assertAnswered(odd)["audio"]["sample_rate_hz"])

    def test_F11_codecs(self):
        for tag, bits, name in ((1, 8, "8-bit"), (2, 4, "ADPCM"), (0x11, 4, "ADPCM"), (7, 8, "law"), (6, 8, "law"), (0x55, 0, "MP3"),
                                (0x31, 0, "GSM"), (0x50, 0, "MPEG"), (0x1234, 16, "0x1234"), (3, 16, "float"), (1, 20, "20-bit")):
            with self.subTest(name=name, tag=tag):
                self.assertRefused(self.measure(c.wav(self.samples, tag=tag, bits=bits)), name, "Export it as PCM")
        for codec in (b"alaw", b"ulaw", b"ima4", b"QDM2", b"\0\1\2\3"):
            with self.subTest(codec):
                self.assertRefused(self.measure(c.aiff(c.swapped(self.samples), codec=codec)), "Export it as PCM")
        strange = c.le("HHIIHHHHI", 0xFFFE, 2, 16000, 64000, 4, 16, 22, 16, 3) + bytes(range(16))
        self.assertRefused(self.measure(c.wav(self.samples, form=strange)), "codec")

    def test_F12_frame_and_byte_rate(self):
        self.refuse_all({"frame": c.wav(self.samples, frame=6, byte_rate=64000), "rate": c.wav(self.samples, byte_rate=1),
                         "frame 0": c.wav(self.samples, frame=0), "rate 0": c.wav(self.samples, byte_rate=0)}, "header states")

    def test_F13_chunk_order(self):
        form, data = c.chunk(b"fmt ", c.fmt()), c.chunk(b"data", self.samples)
        riff = lambda body: b"RIFF" + c.le("I", len(body) + 4) + b"WAVE" + body
        self.refuse_all({"two fmt": riff(form + form + data), "two data": riff(form + data + data), "fmt last": riff(data + form),
                         "fmt again": riff(form + data + form)}, "chunk")

    def test_F14_sub_chunk_sizes_that_wrap(self):
        for size in (0xFFFFFFF0, 0xFFFFFFF8, 0xFFFFFFFE, 0xFFFFFFFF):
            with self.subTest(size):
                runs = [self.measure(c.wav(self.samples, before=c.list_chunk(b"ISFT", size))) for _ in range(3)]
                for run in runs:
                    self.assertRefused(run, "LIST")
                # The walk takes 10 ms. The cost of a process comes on top and is higher on a busy machine, so the best of three counts.
                if not SANITIZED:
                    self.assertLess(min(run.cpu_s for run in runs), 0.06)

    def test_F15_too_much_metadata(self):
        self.refuse_all({"tiny chunks": c.wav(self.samples, before=c.chunk(b"junk", b"") * 100_000),
                         "tiny parts": c.wav(self.samples, before=c.chunk(b"LIST", b"INFO" + c.chunk(b"INAM", b"") * 100_000)),
                         "LIST of 4 GB": c.wav(self.samples, before=c.chunk(b"LIST", b"INFO", size=0xFFFFFFF0)),
                         "2 MiB of it": c.wav(self.samples, before=c.chunk(b"bext", bytes(2**21)))}, "chunk")
        self.assertSameLeaks(self.assertAnswered(self.measure(c.wav(self.samples, before=c.chunk(b"bext", b"<&\x1b" * 21845)))))

    def test_F16_part_of_a_frame(self):
        for extra in (1, 2, 3):
            with self.subTest(extra):
                data = self.samples + bytes(extra)
                document = self.assertAnswered(self.measure(c.wav(data)), "truncated")
                self.assertSameLeaks(document)
                self.assertRegex(" ".join(w["message"] for w in document["warnings"]), "left and right may be swapped")

    def test_F17_garbage_and_tags(self):
        garbage = b"\xff\x00garbage\x1b[2J" * 50
        for name, content in {"behind": self.good + garbage, "tag before": c.id3() + self.good, "tag behind": self.good + c.id3(),
                              "TAG": self.good + b"TAG" + bytes(125), "AIFF": c.aiff(c.swapped(self.samples)) + garbage}.items():
            with self.subTest(name):
                self.assertSameLeaks(self.assertAnswered(self.measure(content), "skipped_bytes"))

    def floats(self):
        return [s / 32768 for s in struct.unpack(f"<{len(self.samples) // 2}h", self.samples)]

    def float_wav(self, values, letter="f"):
        return c.wav(struct.pack(f"<{len(values)}{letter}", *values), tag=3, bits=32 if letter == "f" else 64)

    def test_F18_not_finite_and_above_full_scale(self):
        for bad in (float("nan"), float("inf"), float("-inf")):
            with self.subTest(bad):
                few = self.floats()
                few[60000] = few[60001] = few[90001] = bad
                document = self.assertAnswered(self.measure(self.float_wav(few)))
                # 3 of the 2 × 62,400 samples in which the passage was found.
                self.assertRegex([w["message"] for w in document["warnings"] if w["code"] == "not_finite"][0], r"^0.0024 % of the samples")
                self.assertRefused(self.measure(self.float_wav([bad] * 200_000)), "finite|numbers")
        loud = self.assertAnswered(self.measure(self.float_wav([8 * v for v in self.floats()])))
        good = self.untouched()
        # A gain of exactly 8 does not change ratios; float samples above full scale are not clipped.
        self.assertAlmostEqual(good["right_into_left"]["db"], loud["crosstalk"]["right_into_left"]["db"], delta=1e-6)
        self.assertGreater(loud["passages"][0]["level_left_dbfs"], 0)
        huge = self.measure(self.float_wav([3.4e38 if i % 2 else -3.4e38 for i in range(200_000)]))
        self.assertIn(huge.status, (0, 1))

    def test_F19_denormals(self):
        zeros = self.floats()
        gap = int(0.25 * 16000) * 2
        zeros[:gap] = [0.0] * gap
        quiet = [v if v else 4.9e-324 * (1 + i % 3) for i, v in enumerate(zeros)]
        reference = self.assertAnswered(self.measure(self.float_wav(zeros, "d")))
        self.assertEqual(reference["crosstalk"], self.assertAnswered(self.measure(self.float_wav(quiet, "d")))["crosstalk"])
        count = 2 * 16000 * 40
        times = {}
        for name, content in {"zeros": self.float_wav([0.0] * count, "d"), "tiny": self.float_wav([1e-310, -2e-310] * (count // 2), "d"),
                              "tiny floats": self.float_wav([1e-40, -2e-40] * (count // 2))}.items():
            runs = [self.measure(content) for _ in range(3)]
            self.assertEqual({1}, {run.status for run in runs}, name)
            times[name] = min(run.cpu_s for run in runs)
        if not SANITIZED:
            self.assertLess(times["tiny"], 3 * times["zeros"] + 0.02)
            self.assertLess(times["tiny floats"], 3 * times["zeros"] + 0.02)

    def test_F20_damaged_flac(self):
        whole = c.flac(self.capture)
        start = c.flac_audio_at(whole)
        self.assertSameLeaks(self.assertAnswered(self.measure(whole)))
        self.refuse_all({"half": whole[:len(whole) // 2], "header only": whole[:start], "cut header": whole[:20]})
        self.assertRefused(self.measure(whole[:len(whole) // 2]), "frame [0-9]+")
        for name, at in {"bit flip": start + len(whole) // 3, "lost sync": start + len(whole) // 2}.items():
            spoilt = bytearray(whole)
            spoilt[at:at + 64] = bytes(64) if name == "lost sync" else bytes([spoilt[at] ^ 1]) + spoilt[at + 1:at + 64]
            with self.subTest(name):
                self.assertRefused(self.measure(bytes(spoilt)), "frame [0-9]+")

    def test_F20_flac_frames_out_of_order(self):
        """The frames are whole, each with its correct checksum, but in wrong places."""
        whole = c.flac(self.capture, "--blocksize=4096")
        head, frames = whole[:c.flac_audio_at(whole)], c.flac_frames(whole)
        self.assertEqual((len(self.samples) // 4 + 4095) // 4096, len(frames))
        self.assertEqual(whole, head + b"".join(frames))
        for name, order in {"twice": [*frames[:6], *frames[5:]], "swapped": [*frames[:5], frames[6], frames[5], *frames[7:]]}.items():
            with self.subTest(name):
                self.assertRefused(self.measure(head + b"".join(order)), "frame [0-9]+", "out of order or repeated")

    def test_F21_flac_checksum_is_not_verified(self):
        whole = c.flac(self.capture)
        for md5 in (bytes(16), b"\xaa" * 16):
            self.assertSameLeaks(self.assertAnswered(self.measure(c.flac_with(whole, md5=md5))))
        self.assertRegex((DOCS / "reliability.md").read_text(), "FLAC.*checksum")

    def test_F22_unusual_flac_headers(self):
        whole = c.flac(self.capture)
        for total in (0, 2**36 - 1):
            with self.subTest(total):
                self.assertSameLeaks(self.assertAnswered(self.measure(c.flac_with(whole, total=total))))
        self.assertRefused(self.measure(c.flac_with(whole, total=2**35)), "frame [0-9]+")
        self.assertSameLeaks(self.assertAnswered(self.measure(c.id3() + whole), "skipped_bytes"))
        tagged = c.flac_tagged(whole, b"TITLE=\xff\xfe\x1b[2J<script>")
        self.assertSameLeaks(self.assertAnswered(self.measure(tagged)))
        wide = bytearray(whole)
        wide[20] |= 1  # bits − 1 has five bits, spread over two bytes: 31 means 32
        wide[21] |= 0xF0
        self.assertRefused(self.measure(bytes(wide)), "32-bit FLAC")


if __name__ == "__main__":
    unittest.main()
