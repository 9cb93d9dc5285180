// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/capture_layout.hpp"

#include <cmath>

#include "support/wav_bytes.hpp"
#include "unit/audio/opened_bytes.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;
using namespace evenwall::internal::storage;

namespace {

const std::string kWav = wav::riff(wav::chunk("fmt ", wav::fmt_body({})) + wav::chunk("data", wav::ramp(9)));

std::string id3(std::uint32_t body_bytes) {
  std::string tag("ID3\4\0\0", 6);
  for (int shift = 21; shift >= 0; shift -= 7) tag += static_cast<char>((body_bytes >> shift) & 0x7FU);
  return tag + std::string(body_bytes, 't');
}

struct Settled {
  CaptureLayout layout;
  std::string refusal;
};
/// Settles the extent of a file with 10 bytes of header and `present` bytes of audio.
Settled settled(SampleFormat samples, std::size_t present, std::uint64_t declared, Declared trust) {
  const Descriptor file = in_memory(std::string(10 + present, 'x'));
  Settled result;
  result.layout.samples = samples;
  result.layout.data_offset = 10;
  result.refusal = refusal_of([&] { settle_extent(result.layout, FileBytes(file.get(), "x.wav"), declared, trust); });
  return result;
}

}  // namespace

TEST_CASE("Other files are refused, and the message names their kind") {
  const struct {
    std::string bytes;
    const char* word;
  } cases[] = {{"RIFX....WAVEfmt ", "RIFX (big-endian WAV)"},
               {"BW64....WAVEds64", "BW64"},
               {".snd............", "AU"},
               {"caff............", "CAF"},
               {"OggS............", "Ogg"},
               {"\x89PNG\r\n\x1a\n", "a PNG picture"},
               {"....ftypM4A ", "MP4 or ALAC"},
               {"\xff\xfb\x90\x44 frame", "MPEG audio"},
               {"PK\x03\x04....", "a ZIP archive"},
               {"Dear Sir or Madam,\n", "text"},
               {"\x1b[2J\x01\x02", "unknown (it begins with \"\\x1B[2J\")"}};
  for (const auto& c : cases) {
    CHECK(has(refused_layout(c.bytes), std::string("x.wav: the content of the file is ") + c.word));
    CHECK(has(refused_layout(c.bytes), "Give a WAV, RF64, W64, AIFF or FLAC file."));
  }
  CHECK(has(refused_layout(""), "no audio, because the file is empty"));
}

TEST_CASE("An ID3 tag before the audio is skipped with a warning") {
  const auto tagged = opened_ramp(id3(200) + kWav);
  CHECK(tagged.frames == 9);
  REQUIRE(only_code(tagged) == WarningCode::kSkippedBytes);
  CHECK(has(tagged.warnings[0].message, "an ID3 tag of 210 bytes"));
  CHECK(has(refused_layout(id3(200)), "audio must follow it"));
  CHECK(has(refused_layout(id3(200).substr(0, 100)), "audio must follow it"));
  CHECK(opened_ramp(id3((1 << 20) - 10) + kWav).frames == 9);
  CHECK(has(refused_layout(id3((1 << 20) - 9) + kWav), "an ID3 tag of 1048577 bytes"));
}

TEST_CASE("Two channels at 8 to 768 kHz are accepted, and all else is refused") {
  const Descriptor file = in_memory("");
  const FileBytes bytes(file.get(), "x.wav");
  const auto refused = [&](std::int64_t channels, double rate_hz) {
    return refusal_of([&] { require_stereo_at_usable_rate(bytes, channels, rate_hz); });
  };
  CHECK(has(refused(2, 8000), "nothing was refused"));
  CHECK(has(refused(2, 768000), "nothing was refused"));
  for (const double rate_hz : {7999.9, 768000.1, -48000.0, double{NAN}, double{INFINITY}})
    CHECK(has(refused(2, rate_hz), "a sample rate of"));
  CHECK(has(refused(1, 48000), "one channel"));
  for (const int channels : {-1, 0, 3}) CHECK(has(refused(channels, 48000), std::to_string(channels) + " channels"));
}

TEST_CASE("The number of frames follows from the declared length and from the bytes that exist") {
  const auto exact = settled(SampleFormat::kPcm24, 60, 60, Declared::kLength);
  CHECK((exact.layout.frames == 10 && exact.layout.data_bytes == 60 && exact.layout.warnings.empty()));
  const auto fewer = settled(SampleFormat::kPcm24, 59, 60, Declared::kLength);
  CHECK((fewer.layout.frames == 9 && fewer.layout.data_bytes == 54));
  CHECK(only_code(fewer.layout) == WarningCode::kTruncated);
  const auto more = settled(SampleFormat::kFloat64, 1000, 32, Declared::kLength);
  CHECK((more.layout.frames == 2 && more.layout.warnings.empty()));
  const auto part = settled(SampleFormat::kFloat64, 1000, 33, Declared::kLength);
  CHECK(part.layout.frames == 2);
  REQUIRE(only_code(part.layout) == WarningCode::kTruncated);
  CHECK(has(part.layout.warnings[0].message, "the last frame has 1 of 16 bytes"));
  CHECK(has(part.layout.warnings[0].message, "left and right may be swapped"));
  const auto placeholder = settled(SampleFormat::kPcm16, 41, ~0ULL, Declared::kPlaceholder);
  CHECK((placeholder.layout.frames == 10 && placeholder.layout.data_bytes == 40));
  CHECK(only_code(placeholder.layout) == WarningCode::kHeaderNotFinal);
  const auto vast = settled(SampleFormat::kPcm16, 40, ~0ULL, Declared::kLength);
  CHECK(vast.layout.frames == 10);
  CHECK(has(settled(SampleFormat::kPcm32, 7, 800, Declared::kLength).refusal, "no audio: 800 bytes are declared, 7 are present"));
  CHECK(has(settled(SampleFormat::kPcm32, 800, 7, Declared::kLength).refusal, "no audio: 7 bytes are declared, 800 are present"));
}

TEST_CASE("A layout is described in words and has the right number of bytes per frame") {
  const struct {
    SampleFormat samples;
    std::uint64_t frame_bytes;
    const char* words;
  } cases[] = {{SampleFormat::kPcm16, 4, "RF64 PCM 16-bit"},
               {SampleFormat::kPcm24, 6, "RF64 PCM 24-bit"},
               {SampleFormat::kPcm32, 8, "RF64 PCM 32-bit"},
               {SampleFormat::kFloat32, 8, "RF64 float 32-bit"},
               {SampleFormat::kFloat64, 16, "RF64 float 64-bit"}};
  CaptureLayout layout;
  layout.container = "RF64";
  for (const auto& c : cases) {
    layout.samples = c.samples;
    CHECK(bytes_per_frame(c.samples) == c.frame_bytes);
    CHECK(encoding_text(layout) == c.words);
  }
}

TEST_CASE("Random headers never crash and never hang") {
  const std::string good = wav::riff(wav::chunk("LIST", "INFO" + wav::chunk("INAM", "name")) + wav::chunk("fmt ", wav::fmt_body({})) +
                                     wav::chunk("data", wav::ramp(40)));
  std::uint32_t state = 20240611;  // seed
  int accepted = 0;
  for (int trial = 0; trial < 2000; ++trial) {
    std::string bytes = good;
    for (int flips = 0; flips < 3; ++flips) {
      state = state * 1664525U + 1013904223U;
      bytes[(state >> 8U) % 76] = static_cast<char>(state >> 24U);
    }
    INFO("trial " << trial);
    try {
      Descriptor file = in_memory(bytes);
      const CaptureLayout layout = layout_of(FileBytes(file.get(), "x.wav"));
      const auto audio = decoded_source(std::move(file), layout, "x.wav");
      REQUIRE(audio->frames() <= 100);  // no more than the file can hold
      std::vector<float> samples(static_cast<std::size_t>(2 * audio->frames()));
      REQUIRE(audio->read(0, audio->frames(), samples.data()) == audio->frames());
      ++accepted;
    } catch (const Error& error) {
      REQUIRE(error.kind() == ErrorKind::kInput);
      REQUIRE_FALSE(has(error.what(), "\n"));
    }
  }
  CHECK(accepted > 0);
  CHECK(accepted < 2000);
}
