// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/exact_frames.hpp"

#include <array>
#include <cstring>

#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "unit/audio/example_audio.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;
using namespace evenwall::internal::storage;

namespace {

using Bytes = std::vector<std::uint8_t>;

Bytes exact(const Bytes& bytes, std::size_t count, SampleFormat samples, ByteOrder order) {
  Bytes out(count * (samples == SampleFormat::kFloat64 ? 8 : 4), 0xEE);
  exact_samples(bytes.data(), count, samples, order, out.data());
  return out;
}

}  // namespace

TEST_CASE("Samples of each width and byte order are left-justified and little-endian") {
  CHECK(exact({0x34, 0x12, 0x00, 0x80}, 2, SampleFormat::kPcm16, ByteOrder::kLittle) == Bytes{0, 0, 0x34, 0x12, 0, 0, 0x00, 0x80});
  CHECK(exact({0x12, 0x34, 0x80, 0x00}, 2, SampleFormat::kPcm16, ByteOrder::kBig) == Bytes{0, 0, 0x34, 0x12, 0, 0, 0x00, 0x80});
  CHECK(exact({0x56, 0x34, 0x12}, 1, SampleFormat::kPcm24, ByteOrder::kLittle) == Bytes{0, 0x56, 0x34, 0x12});
  CHECK(exact({0x12, 0x34, 0x56}, 1, SampleFormat::kPcm24, ByteOrder::kBig) == Bytes{0, 0x56, 0x34, 0x12});
  for (const SampleFormat four : {SampleFormat::kPcm32, SampleFormat::kFloat32}) {
    CHECK(exact({1, 2, 3, 4}, 1, four, ByteOrder::kLittle) == Bytes{1, 2, 3, 4});
    CHECK(exact({4, 3, 2, 1}, 1, four, ByteOrder::kBig) == Bytes{1, 2, 3, 4});
  }
  CHECK(exact({1, 2, 3, 4, 5, 6, 7, 8}, 1, SampleFormat::kFloat64, ByteOrder::kLittle) == Bytes{1, 2, 3, 4, 5, 6, 7, 8});
  CHECK(exact({8, 7, 6, 5, 4, 3, 2, 1}, 1, SampleFormat::kFloat64, ByteOrder::kBig) == Bytes{1, 2, 3, 4, 5, 6, 7, 8});
}

TEST_CASE("Decoded integers of 16 and 24 bits give the same bytes as the samples of a file") {
  std::mt19937 random(3);
  for (const unsigned bits : {16U, 24U}) {
    CAPTURE(bits);
    std::vector<std::int32_t> samples = random_samples(bits, 1000, random);
    samples[0] = -(1 << (bits - 1));
    samples[1] = (1 << (bits - 1)) - 1;
    samples[2] = 0;
    samples[3] = -1;
    Bytes file;
    std::vector<float> decoded;
    for (const std::int32_t sample : samples) {
      for (unsigned k = 0; k < bits / 8; ++k) file.push_back(static_cast<std::uint8_t>(static_cast<std::uint32_t>(sample) >> (8 * k)));
      decoded.push_back(std::ldexp(static_cast<float>(sample), 1 - static_cast<int>(bits)));
    }
    Bytes out(4 * samples.size());
    exact_integers(decoded.data(), decoded.size(), out.data());
    CHECK(out == exact(file, samples.size(), bits == 16 ? SampleFormat::kPcm16 : SampleFormat::kPcm24, ByteOrder::kLittle));
  }
}

TEST_CASE("A decoded sample beyond full scale, which only a malformed stream has, is converted without a fault") {
  const std::array<float, 2> beyond{256.0F, -256.0F};
  Bytes out(8);
  exact_integers(beyond.data(), beyond.size(), out.data());
  CHECK(out == Bytes(8, 0));  // 2^39 modulo 2^32
}

TEST_CASE("Frames are read at any place, and only the frames that exist") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 24, folder / "a.wav");
  const CaptureLayout layout = layout_of_file(folder / "a.wav");
  ExactFrames frames(layout);
  CHECK(frames.sample_bytes() == 4);
  SampleFile file(open_input(folder / "a.wav"), "a.wav");
  const std::string bytes = folder.read("a.wav");
  for (const std::int64_t first : {std::int64_t{0}, std::int64_t{777}, kExampleFrames - 10}) {
    Bytes out(8 * 100, 0);
    const std::int64_t got = frames.read(file, first, 100, out.data());
    CHECK(got == std::min<std::int64_t>(100, kExampleFrames - first));
    for (std::int64_t i = 0; i < 2 * got; ++i) {
      const auto* sample = bytes.data() + layout.data_offset + static_cast<std::size_t>(3 * (2 * first + i));
      REQUIRE(std::memcmp(out.data() + 4 * i + 1, sample, 3) == 0);
      REQUIRE(out[static_cast<std::size_t>(4 * i)] == 0);
    }
  }
  Bytes none(8);
  CHECK(frames.read(file, kExampleFrames, 1, none.data()) == 0);
  CHECK(frames.read(file, -1, 1, none.data()) == 0);
}

TEST_CASE("A file that has become shorter is refused with the frame at which it ends") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 16, folder / "a.wav");
  ExactFrames frames(layout_of_file(folder / "a.wav"));
  SampleFile file(open_input(folder / "a.wav"), "a.wav");
  std::filesystem::resize_file(folder / "a.wav", 44 + 4 * 50);
  Bytes out(8 * 100);
  CHECK(refusal_of([&] { frames.read(file, 0, 100, out.data()); }) ==
        "a.wav: the audio ends at frame 50, but 40000 frames are declared. Copy or record it again.");
}
