// SPDX-License-Identifier: GPL-3.0-or-later
// Checks which RIFF, RF64 and W64 files are accepted, and how false lengths are handled.
#include <unistd.h>

#include "support/wav_bytes.hpp"
#include "unit/audio/opened_bytes.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;
using namespace evenwall::internal::storage;
using namespace wav;

namespace {

const std::string kFmt = chunk("fmt ", fmt_body({}));
// Bytes 2 to 15 of the GUID that represents a plain format tag. Source: KSDATAFORMAT_SUBTYPE_PCM, from memory.
const std::string kTagGuid("\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71", 14);

std::string with_size(std::uint32_t riff_size, std::string_view chunks) { return "RIFF" + le(riff_size) + "WAVE" + std::string(chunks); }
std::string wav_with(Format f) { return riff(chunk("fmt ", fmt_body(f)) + chunk("data", ramp(100))); }

std::string extensible(Format f, std::uint16_t plain_tag, std::uint16_t valid_bits, const std::string& guid = kTagGuid) {
  f.tag = 0xFFFE;
  const std::string extra = le<std::uint16_t>(22) + le(valid_bits) + le(3U) + le(plain_tag) + guid;
  return riff(chunk("fmt ", fmt_body(f) + extra) + chunk("data", ramp(100)));
}

std::string w64(std::uint64_t data_size) {
  const std::string wave_tail("\xf3\xac\xd3\x11\x8c\xd1\x00\xc0\x4f\x8e\xdb\x8a", 12);
  return "riff" + std::string("\x2e\x91\xcf\x11\xa5\xd6\x28\xdb\x04\xc1\x00\x00", 12) + le(std::uint64_t{1000}) + "wave" + wave_tail +
         "fmt " + wave_tail + le(std::uint64_t{24 + 16}) + fmt_body({}) + "data" + wave_tail + le(data_size) + ramp(50);
}

}  // namespace

TEST_CASE("PCM of 16, 24 and 32 bits and float of 32 and 64 bits are accepted, plain or extensible") {
  const struct {
    std::uint16_t tag, bits;
    SampleFormat samples;
    std::int64_t frames;  // in 400 bytes
  } cases[] = {{1, 16, SampleFormat::kPcm16, 100},
               {1, 24, SampleFormat::kPcm24, 66},
               {1, 32, SampleFormat::kPcm32, 50},
               {3, 32, SampleFormat::kFloat32, 50},
               {3, 64, SampleFormat::kFloat64, 25}};
  for (const auto& c : cases) {
    const Format format{c.tag, 2, 96000, c.bits};
    for (const std::string& bytes : {wav_with(format), extensible(format, c.tag, c.bits)}) {
      const auto layout = layout_in(bytes);
      CHECK(layout.samples == c.samples);
      CHECK(layout.frames == c.frames);
      CHECK((layout.rate_hz == 96000 && layout.order == ByteOrder::kLittle && layout.container == "WAV"));
      CHECK(layout.data_offset == bytes.size() - 400);
    }
  }
  CHECK(layout_in(extensible({1, 2, 48000, 32}, 1, 24)).samples == SampleFormat::kPcm32);
}

TEST_CASE("Every other coding is refused, and the message names it") {
  CHECK(has(refused_layout(wav_with({1, 2, 48000, 8})), "8-bit PCM"));
  CHECK(has(refused_layout(wav_with({1, 2, 48000, 20})), "20-bit PCM"));
  CHECK(has(refused_layout(wav_with({1, 2, 48000, 64})), "64-bit PCM"));
  CHECK(has(refused_layout(wav_with({3, 2, 48000, 16})), "16-bit float"));
  CHECK(has(refused_layout(wav_with({2, 2, 48000, 16})), "Microsoft ADPCM"));
  CHECK(has(refused_layout(wav_with({6, 2, 48000, 16})), "A-law"));
  CHECK(has(refused_layout(wav_with({7, 2, 48000, 16})), "µ-law"));
  CHECK(has(refused_layout(wav_with({0x11, 2, 48000, 16})), "IMA ADPCM"));
  CHECK(has(refused_layout(wav_with({0x55, 2, 48000, 16})), "MP3 (format tag 0x0055)"));
  CHECK(has(refused_layout(wav_with({0, 2, 48000, 16})), "another codec (format tag 0x0000)"));
  CHECK(has(refused_layout(extensible({1, 2, 48000, 16}, 0x55, 16)), "MP3"));
  CHECK(has(refused_layout(extensible({1, 2, 48000, 16}, 1, 16, std::string(14, 'g'))), "unknown codec"));
  CHECK(has(refused_layout(extensible({1, 2, 48000, 16}, 1, 17)), "more valid bits"));
  CHECK(has(refused_layout(wav_with({0xFFFE, 2, 48000, 16})), "extensible format chunk is too short"));
  CHECK(has(refused_layout("RIFF" + le(4U) + "AVI " + kFmt), "no WAVE"));
}

TEST_CASE("Headers that contradict themselves are refused") {
  for (const auto channels : std::initializer_list<std::uint16_t>{0, 3, 1024, 65535})
    CHECK(has(refused_layout(wav_with({1, channels, 48000, 16})), std::to_string(channels) + " channels"));
  for (const std::uint32_t rate : {0U, 1U, 7999U, 768001U, 0x7FFFFFFFU, 0xFFFFFFFFU})
    CHECK(has(refused_layout(wav_with({1, 2, rate, 16})), "sample rate"));
  std::string frame = wav_with({});
  frame[32] = 6;
  CHECK(has(refused_layout(frame), "6 bytes per frame"));
  std::string second = wav_with({});
  second[28] = 1;
  CHECK(has(refused_layout(second), "bytes per second"));
  CHECK(has(refused_layout(riff(chunk("fmt ", "short") + chunk("data", ramp(100)))), "too short"));
}

TEST_CASE("A file without audio is refused, and the message states that") {
  CHECK(has(refused_layout(riff(kFmt + chunk("data", ""))), "no audio"));
  CHECK(has(refused_layout(riff(kFmt + chunk("data", "abc"))), "no audio: 3 bytes are declared, 4 are present"));
  CHECK(has(refused_layout(riff(kFmt + data(0, ramp(100)))), "0 frames are declared, 400 bytes are present"));
}

TEST_CASE("If a declared length does not fit the file, the audio that exists is measured and a warning is given") {
  const auto cut = opened_ramp(with_size(4036, kFmt + data(4000, ramp(500))));
  CHECK(cut.frames == 500);
  REQUIRE(only_code(cut) == WarningCode::kTruncated);
  CHECK(has(cut.warnings[0].message, "4000 bytes of audio are declared, 2000 are present"));

  for (const std::uint32_t placeholder : {0xFFFFFFFFU, 0x7FFFF000U}) {
    const auto open_ended = opened_ramp(with_size(placeholder, kFmt + data(placeholder, ramp(500))));
    CHECK(open_ended.frames == 500);
    CHECK(only_code(open_ended) == WarningCode::kHeaderNotFinal);
  }
  for (const std::uint32_t riff_size : {0U, 8U, 36U}) {
    const auto zero = opened_ramp(with_size(riff_size, kFmt + data(0, ramp(500))));
    CHECK(zero.frames == 500);
    CHECK(only_code(zero) == WarningCode::kHeaderNotFinal);
  }
  const auto short_data = opened_ramp(riff(kFmt + data(400, ramp(500))));
  CHECK(short_data.frames == 100);
  REQUIRE(only_code(short_data) == WarningCode::kSkippedBytes);
  CHECK(has(short_data.warnings[0].message, "1600 bytes"));

  const auto odd = opened_ramp(riff(kFmt + chunk("data", ramp(10) + "abc")));
  CHECK(odd.frames == 10);
  CHECK(only_code(odd) == WarningCode::kTruncated);
}

TEST_CASE("Valid chunks around the audio cause no warning, and garbage after it causes one") {
  const std::string around = chunk("bext", std::string(602, 'b')) + kFmt + chunk("data", ramp(9));
  CHECK(opened_ramp(riff(around + chunk("LIST", "INFO" + chunk("INAM", "odd")))).warnings.empty());
  const auto garbage = opened_ramp(riff(kFmt + chunk("data", ramp(9))) + std::string("\0\xff\0junk", 7));
  CHECK(garbage.frames == 9);
  CHECK(only_code(garbage) == WarningCode::kSkippedBytes);
}

TEST_CASE("RF64 sizes of any magnitude are read without a crash") {
  const auto rf64 = [](std::uint64_t data_size) {
    return "RF64" + le(0xFFFFFFFFU) + "WAVE" + chunk("ds64", le(std::uint64_t{1000}) + le(data_size) + le(std::uint64_t{0}) + le(0U)) +
           kFmt + data(0xFFFFFFFFU, ramp(50));
  };
  CHECK(opened_ramp(rf64(200)).warnings.empty());
  CHECK(opened_ramp(rf64(200)).container == "RF64");
  CHECK(only_code(opened_ramp(rf64(5000))) == WarningCode::kTruncated);
  for (const std::uint64_t size : {1ULL << 62U, 1ULL << 63U, ~0ULL, ~0ULL - 7}) {
    const auto layout = opened_ramp(rf64(size));
    CHECK(layout.frames == 50);
    CHECK(only_code(layout) == WarningCode::kHeaderNotFinal);
  }
  CHECK(has(refused_layout("RF64" + le(0xFFFFFFFFU) + "WAVE" + kFmt + data(0xFFFFFFFFU, ramp(50))), "ds64"));
}

TEST_CASE("W64 sizes of any magnitude are read without a crash") {
  CHECK(opened_ramp(w64(24 + 200)).warnings.empty());
  CHECK(opened_ramp(w64(24 + 200)).container == "W64");
  CHECK(only_code(opened_ramp(w64(24 + 5000))) == WarningCode::kTruncated);
  for (const std::uint64_t size : {(1ULL << 63U) - 1, ~0ULL - 7}) CHECK(only_code(opened_ramp(w64(size))) == WarningCode::kHeaderNotFinal);
  CHECK(has(refused_layout(w64(24 + 200).substr(0, 30)), "W64 file holds no audio"));
}

TEST_CASE("A RIFF file over 4 GiB is recognised by its size") {
  const std::uint64_t audio_bytes = (1ULL << 32U) + 4000;  // the file is sparse; the header can only hold 4000
  Descriptor file = in_memory(with_size(4036, kFmt + data(4000, ramp(1000))));
  REQUIRE(::ftruncate(file.get(), static_cast<off_t>(44 + audio_bytes)) == 0);
  const CaptureLayout layout = layout_of(FileBytes(file.get(), "big.wav"));
  CHECK(layout.frames == static_cast<std::int64_t>(audio_bytes / 4));
  CHECK(only_code(layout) == WarningCode::kHeaderNotFinal);
  const auto audio = decoded_source(std::move(file), layout, "big.wav");
  float samples[4] = {1, 1, 1, 1};
  CHECK(audio->read(audio->frames() - 2, 2, samples) == 2);
  CHECK((samples[0] == 0 && samples[3] == 0));
  CHECK(audio->read(2, 1, samples) == 1);
  CHECK(samples[0] == 2.0F / 32768);
}
