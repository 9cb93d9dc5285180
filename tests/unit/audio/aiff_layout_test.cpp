// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>

#include "unit/audio/opened_bytes.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;

namespace {

template <typename T>
std::string be(T value) {
  std::string bytes;
  for (std::size_t i = sizeof(T); i-- > 0;) bytes += static_cast<char>((static_cast<std::uint64_t>(value) >> (8 * i)) & 0xFFU);
  return bytes;
}
std::string chunk(std::string_view id, std::string_view body) {
  return std::string(id) + be(static_cast<std::uint32_t>(body.size())) + std::string(body) + std::string(body.size() % 2, '\0');
}

/// An 80-bit extended number: sign and exponent, then the mantissa with its leading one.
std::string extended(std::uint16_t sign_exponent, std::uint64_t mantissa) { return be(sign_exponent) + be(mantissa); }
const std::string k48000 = extended(0x400E, 0xBB80ULL << 48U);

struct Common {
  std::uint16_t channels = 2;
  std::uint32_t frames = 100;
  std::uint16_t bits = 16;
  std::string rate = k48000;
};
std::string body_of(const Common& c) { return be(c.channels) + be(c.frames) + be(c.bits) + c.rate; }
std::string form(std::string_view kind, std::string_view chunks) {
  return "FORM" + be(static_cast<std::uint32_t>(chunks.size() + 4)) + std::string(kind) + std::string(chunks);
}
std::string sound(std::string_view samples, std::uint32_t offset = 0) { return be(offset) + be(0U) + std::string(samples); }
std::string ramp(int frames) {
  std::string body;
  for (int n = 0; n < frames; ++n) body += be(static_cast<std::int16_t>(n)) + be(static_cast<std::int16_t>(-n));
  return body;
}
std::string aiff(const Common& c, std::string_view samples) {
  return form("AIFF", chunk("COMM", body_of(c)) + chunk("SSND", sound(samples)));
}
std::string aifc(std::string_view codec, const Common& c, std::string_view samples) {
  return form("AIFC", chunk("COMM", body_of(c) + std::string(codec) + std::string(2, '\0')) + chunk("SSND", sound(samples)));
}
/// A file with an SSND chunk that declares `ssnd_bytes`, whatever it holds.
std::string declaring(std::uint32_t ssnd_bytes, const Common& c, std::string_view samples) {
  return form("AIFF", chunk("COMM", body_of(c)) + "SSND" + be(ssnd_bytes) + sound(samples));
}

}  // namespace

TEST_CASE("AIFF is read big-endian, from the offset that the SSND chunk states") {
  const auto plain = opened_ramp(aiff({}, ramp(100)));
  CHECK((plain.container == "AIFF" && plain.frames == 100 && plain.rate_hz == 48000 && plain.order == ByteOrder::kBig));
  CHECK(plain.warnings.empty());
  const auto shifted = opened_ramp(form("AIFF", chunk("COMM", body_of({})) + chunk("SSND", sound("six by" + ramp(100), 6))));
  CHECK(shifted.warnings.empty());
  const auto last = form("AIFF", chunk("COMM", body_of({})) + chunk("SSND", sound(ramp(100), 401)));
  CHECK(has(refused_layout(last), "the offset in the SSND chunk lies outside"));
  const auto far = form("AIFF", chunk("COMM", body_of({})) + chunk("SSND", sound(ramp(100), 0xFFFFFFFFU)));
  CHECK(has(refused_layout(far), "the offset in the SSND chunk lies outside"));
}

TEST_CASE("Each accepted codec of AIFC is read with its sample format and byte order") {
  const struct {
    const char* id;
    std::uint16_t bits;
    SampleFormat samples;
    ByteOrder order;
  } cases[] = {{"NONE", 16, SampleFormat::kPcm16, ByteOrder::kBig},   {"NONE", 24, SampleFormat::kPcm24, ByteOrder::kBig},
               {"twos", 16, SampleFormat::kPcm16, ByteOrder::kBig},   {"in24", 24, SampleFormat::kPcm24, ByteOrder::kBig},
               {"in32", 32, SampleFormat::kPcm32, ByteOrder::kBig},   {"sowt", 16, SampleFormat::kPcm16, ByteOrder::kLittle},
               {"fl32", 32, SampleFormat::kFloat32, ByteOrder::kBig}, {"FL32", 16, SampleFormat::kFloat32, ByteOrder::kBig},
               {"fl64", 64, SampleFormat::kFloat64, ByteOrder::kBig}, {"FL64", 0, SampleFormat::kFloat64, ByteOrder::kBig}};
  for (const auto& c : cases) {
    INFO(c.id << " " << c.bits);
    const Common common{2, 10, c.bits, k48000};
    const auto layout = layout_in(aifc(c.id, common, std::string(10 * bytes_per_frame(c.samples), '\1')));
    CHECK((layout.samples == c.samples && layout.order == c.order && layout.container == "AIFC"));
    CHECK(layout.frames == 10);
    CHECK(layout.warnings.empty());
  }
}

TEST_CASE("Other codecs and forms of AIFF are refused, and the message names them") {
  for (const char* codec : {"ulaw", "alaw", "ima4", "MAC3", "none", "raw "})
    CHECK(has(refused_layout(aifc(codec, {}, ramp(100))), "samples are coded as \"" + std::string(codec) + "\""));
  CHECK(has(refused_layout(aifc("\x1b[2J", {}, ramp(100))), "\\x1B[2J"));
  CHECK(has(refused_layout(aiff({2, 100, 8, k48000}, ramp(100))), "the samples have 8 bits"));
  CHECK(has(refused_layout(aiff({1, 100, 16, k48000}, ramp(100))), "one channel"));
  CHECK(has(refused_layout(aiff({6, 100, 16, k48000}, ramp(100))), "6 channels"));
  CHECK(has(refused_layout(form("8SVX", chunk("COMM", body_of({})) + chunk("SSND", sound(ramp(9))))), "no AIFF audio"));
  CHECK(has(refused_layout(form("AIFF", chunk("COMM", body_of({}).substr(0, 17)) + chunk("SSND", sound(ramp(9))))),
            "COMM chunk is too short"));
  CHECK(has(refused_layout(form("AIFC", chunk("COMM", body_of({})) + chunk("SSND", sound(ramp(9))))), "COMM chunk is too short"));
  CHECK(has(refused_layout(form("AIFF", chunk("SSND", sound(ramp(9))) + chunk("COMM", body_of({})))), "before the format"));
  CHECK(has(refused_layout(form("AIFF", chunk("COMM", body_of({})) + chunk("SSND", ""))), "no audio"));
}

TEST_CASE("The sample rate of AIFF is read from any 80-bit number") {
  const auto rate_of = [](const std::string& rate) { return layout_in(aiff({2, 100, 16, rate}, ramp(100))).rate_hz; };
  CHECK(rate_of(extended(0x400E, 0xAC44ULL << 48U)) == 44100);
  CHECK(rate_of(extended(0x4010, 0xBB80ULL << 48U)) == 192000);
  CHECK(rate_of(extended(0x400E, (0xAC44ULL << 48U) | (1ULL << 47U))) == 44100.5);
  const auto refusal = [](const std::string& rate) { return refused_layout(aiff({2, 100, 16, rate}, ramp(100))); };
  // Zero, a negative number, infinity and not-a-number count as 0 Hz.
  for (const std::string& rate :
       {extended(0, 0), extended(0xC00E, 0xBB80ULL << 48U), extended(0x7FFF, 1ULL << 63U), std::string(10, '\xff')})
    CHECK(has(refusal(rate), "a sample rate of 0 Hz"));
  CHECK(has(refusal(extended(0x3FFF, 1ULL << 63U)), "a sample rate of 1 Hz"));
  CHECK(has(refusal(extended(0x7FFE, ~0ULL)), "a sample rate of more than 1000000000 Hz"));
}

TEST_CASE("If a declared length of AIFF does not fit the file, the audio that exists is measured and a warning is given") {
  const auto cut = opened_ramp(declaring(8 + 4000, {2, 1000, 16, k48000}, ramp(100)));
  CHECK(cut.frames == 100);
  CHECK(only_code(cut) == WarningCode::kTruncated);
  for (const std::uint32_t placeholder : {0U, 0x7FFF0000U, 0xFFFFFFFFU}) {
    const auto open_ended = opened_ramp(declaring(placeholder, {2, 0, 16, k48000}, ramp(100)));
    CHECK(open_ended.frames == 100);
    CHECK(only_code(open_ended) == WarningCode::kHeaderNotFinal);
  }
  const auto contradictory = opened_ramp(aiff({2, 70, 16, k48000}, ramp(100)));
  CHECK(contradictory.frames == 100);
  REQUIRE(only_code(contradictory) == WarningCode::kHeaderNotFinal);
  CHECK(has(contradictory.warnings[0].message, "declares 280 bytes of audio in one place and 400 in another. 400 bytes are measured."));
}
