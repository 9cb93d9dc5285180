// SPDX-License-Identifier: GPL-3.0-or-later
#include "unit/audio/opened_bytes.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;

namespace {

struct StreamInfo {
  std::uint64_t rate_hz = 48000;
  std::uint64_t channels = 2;
  std::uint64_t bits = 24;
  std::uint64_t frames = 12345;
};

std::string big_endian(std::uint64_t value, std::size_t bytes) {
  std::string text;
  for (std::size_t i = bytes; i-- > 0;) text += static_cast<char>((value >> (8 * i)) & 0xFFU);
  return text;
}

enum class Last { kYes, kNo };
std::string block(Last last, unsigned type, std::string_view body) {
  return big_endian((last == Last::kYes ? 0x80U : 0U) | type, 1) + big_endian(body.size(), 3) + std::string(body);
}
/// The block sizes take 10 bytes. Then come the rate in 20 bits, channels − 1 in 3, bits − 1 in 5, the frames in 36 bits, and a checksum
/// of 16 bytes. Source: RFC 9639 (2024), 8.2 (from memory).
std::string info_body(const StreamInfo& i) {
  const std::uint64_t packed = (i.rate_hz << 44U) | ((i.channels - 1) << 41U) | ((i.bits - 1) << 36U) | i.frames;
  return std::string(10, '\x10') + big_endian(packed, 8) + std::string(16, '\0');
}
std::string flac(const StreamInfo& i) { return "fLaC" + block(Last::kYes, 0, info_body(i)) + "audio"; }
std::string with_blocks(const std::string& blocks) { return "fLaC" + block(Last::kNo, 0, info_body({})) + blocks; }

}  // namespace

TEST_CASE("The stream information of FLAC is read to the bit") {
  const std::string bytes = flac({768000, 2, 16, (1ULL << 36U) - 2});
  const auto layout = layout_in(bytes);
  CHECK((layout.container == "FLAC" && layout.samples == SampleFormat::kFlac));
  CHECK((layout.rate_hz == 768000 && layout.flac_bits == 16));
  CHECK(layout.frames == (1LL << 36) - 2);
  CHECK((layout.data_offset == 0 && layout.data_bytes == bytes.size()));  // the decoder needs the header too
  CHECK(encoding_text(layout) == "FLAC 16-bit");
  CHECK(layout_in(flac({44100, 2, 24, 1})).frames == 1);
}

TEST_CASE("A FLAC stream that does not state its length is read as one of unknown length") {
  CHECK_FALSE(layout_in(flac({48000, 2, 24, 0})).frames);
  CHECK_FALSE(layout_in(flac({48000, 2, 24, (1ULL << 36U) - 1})).frames);
}

TEST_CASE("FLAC with other widths, channels or rates than those supported is refused") {
  for (const unsigned bits : {4U, 8U, 12U, 20U, 32U})
    CHECK(has(refused_layout(flac({48000, 2, bits, 1})), std::to_string(bits) + "-bit FLAC. It is not measured. Export it with 16 or 24"));
  CHECK(has(refused_layout(flac({48000, 1, 24, 1})), "one channel"));
  CHECK(has(refused_layout(flac({48000, 8, 24, 1})), "8 channels"));
  for (const unsigned rate : {0U, 7999U, 768001U, 0xFFFFFU}) CHECK(has(refused_layout(flac({rate, 2, 24, 1})), "a sample rate of"));
}

TEST_CASE("All metadata blocks are read, and too many or too large ones are refused") {
  const std::string tags = block(Last::kNo, 4, "tags \xff\xfe");
  CHECK(layout_in(with_blocks(tags + block(Last::kYes, 1, std::string(1 << 20, '\0')) + "audio")).frames == 12345);
  CHECK(
      has(refused_layout(with_blocks(block(Last::kYes, 6, std::string((1 << 20) + 1, '\0')) + "audio")), "1048577 bytes, more than 1 MiB"));
  CHECK(has(refused_layout(with_blocks(block(Last::kNo, 127, "") + block(Last::kYes, 1, "") + "audio")), "forbidden type"));
  CHECK(has(refused_layout(with_blocks(block(Last::kNo, 0, "") + block(Last::kYes, 1, "") + "audio")), "stream information appears twice"));
  std::string many;
  for (int i = 0; i < 9998; ++i) many += block(Last::kNo, 1, "");
  CHECK(layout_in(with_blocks(many + block(Last::kYes, 1, "") + "audio")).frames == 12345);  // the last block is the 10,000th
  CHECK(has(refused_layout(with_blocks(many + block(Last::kNo, 1, "") + block(Last::kYes, 1, "") + "audio")), "more than 10000"));
}

TEST_CASE("An incomplete FLAC header is refused") {
  const std::string whole = flac({});
  CHECK(has(refused_layout(whole.substr(0, whole.size() - 5)), "no audio after the FLAC header"));
  CHECK(has(refused_layout(whole.substr(0, 41)), "without its stream information"));
  CHECK(has(refused_layout("fLaC" + block(Last::kNo, 4, std::string(34, 't')) + block(Last::kYes, 0, info_body({})) + "audio"),
            "without its stream information"));
  CHECK(has(refused_layout("fLaC" + block(Last::kYes, 0, info_body({}).substr(0, 33)) + "audio"), "without its stream information"));
  CHECK(has(refused_layout(with_blocks("\1\0")), "the FLAC header is cut off"));
  CHECK(has(refused_layout(with_blocks(block(Last::kYes, 1, std::string(100, 'p')).substr(0, 50))), "no audio after the FLAC header"));
}
