// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/tones.hpp"

#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

/// Adds a note that is struck and decays, on the left channel only.
Canvas& add_note(Canvas& canvas, double start_s, double length_s, double f) {
  const auto first = static_cast<std::size_t>(start_s * canvas.rate_hz);
  for (std::size_t n = 0; n < static_cast<std::size_t>(length_s * canvas.rate_hz); ++n) {
    const double t = static_cast<double>(n) / canvas.rate_hz;
    canvas.samples[2 * (first + n)] += static_cast<float>(0.3 * std::exp(-1.2 * t) * std::sin(2 * 3.14159265358979 * f * t));
  }
  return canvas;
}

HeardTones hear_tones(AudioSource& source) {
  ToneHearing hearing(source, kNominalRpm);
  scan(source, {}, {}, [&](const ScanFrame& frame, const OctaveFrame&) { hearing.add(frame); });
  return hearing.finish();
}

}  // namespace

TEST_CASE("A decaying note on one channel is rejected with a reason, and the bands beside it are measured") {
  Canvas canvas(48000, 14);
  canvas.tone(4, 3, 1000, 0.2, 0.004).tone(8, 3, 1000, 0.004, 0.2).noise(1e-4, 2);
  auto source = add_note(canvas, 0.5, 2.5, 740).source();
  const HeardTones heard = hear_tones(source);
  REQUIRE(heard.passages.size() == 2);
  CHECK(heard.passages[0].passage.driven == Driven::kLeft);
  REQUIRE(heard.rejected.size() == 1);
  CHECK_THAT(heard.rejected[0].frequency_hz, WithinAbs(740, 1));
  CHECK(heard.rejected[0].why.find("level") != std::string::npos);
  const auto again = rejected_stretches(source, {});
  REQUIRE(again.size() == 1);
  CHECK(again[0].why == heard.rejected[0].why);
}

TEST_CASE("A level step of 8 dB does not divide a passage, and bands without a gap keep their edges") {
  Canvas canvas(48000, 12);
  canvas.tone(1, 1.5, 1000, 0.2, 0.004).tone(2.5, 2.5, 1000, 0.2 / 2.51, 0.004 / 2.51);
  canvas.tone(5, 2, 1000, 0.15, 0.15).tone(7, 3, 1000, 0.004, 0.2).noise(1e-4, 2);
  auto source = canvas.source();
  const auto heard = hear_tones(source).passages;
  REQUIRE(heard.size() == 3);
  const double edges_s[] = {1, 5, 7, 10};
  for (std::size_t i = 0; i < 3; ++i) {
    INFO("passage " << i);
    // The tolerance covers frames of 21 ms and a median over nine of them.
    CHECK_THAT(heard[i].passage.start_s, WithinAbs(edges_s[i], 0.035));
    CHECK_THAT(heard[i].passage.end_s, WithinAbs(edges_s[i + 1], 0.035));
  }
}

TEST_CASE("At 20 degrees of tilt, a lateral band is not taken for a left-only band, nor a left-only band for a lateral one") {
  const double lateral_db = -6.6, left_only_db = -8.8;  // tan 25° and tan 20°
  CHECK(driven_by(1, amplitude_ratio(lateral_db)) == Driven::kBoth);
  CHECK(driven_by(1, amplitude_ratio(left_only_db)) == Driven::kLeft);
  CHECK(driven_by(amplitude_ratio(left_only_db), 1) == Driven::kRight);
}

TEST_CASE("Crackle that the recorder clipped does not count as clipping of the tone") {
  Canvas canvas(48000, 6);
  canvas.tone(1, 4, 1000, 0.2, 0.004).noise(1e-3, 2);
  rig::Draw draw(12);
  for (int click = 0; click < 240; ++click) {
    const auto at = static_cast<std::size_t>(draw.uniform(0, 6 * 48000 - 40));
    for (std::size_t n = 0; n < 30; ++n) canvas.samples[2 * (at + n)] = canvas.samples[2 * (at + n) + 1] = 1.0F;
  }
  auto source = canvas.source();
  const auto heard = hear_tones(source).passages;
  REQUIRE(heard.size() == 1);
  CHECK(heard[0].clipped_fraction < 5e-4);  // 2.5 % of the samples are at full scale
  CHECK(std::abs(heard[0].ratio.value - 0.02) < 2e-3);
}

TEST_CASE("A passage is measured before the scan has gone far beyond it") {
  // A decoder keeps 21 s at 96 kHz. The passage is then still in memory and need not be decoded again.
  class Watched : public MemorySource {
   public:
    using MemorySource::MemorySource;
    std::int64_t read(std::int64_t first, std::int64_t count, float* out) override {
      furthest = std::max(furthest, first + count);
      farthest_back = std::max(farthest_back, furthest - first);
      return MemorySource::read(first, count, out);
    }
    std::int64_t furthest = 0, farthest_back = 0;
  };
  const Canvas canvas = Canvas(48000, 40).tone(2, 3, 1000, 0.2, 0.004).tone(20, 3, 1000, 0.004, 0.2).noise(1e-4, 2);
  Watched source(canvas.samples, 48000);
  const Measurement measured = measure(source, {});
  REQUIRE(measured.passages.size() == 2);
  CHECK(static_cast<double>(source.farthest_back) / 48000 < 3 + 1.3);  // the passage, 0.65 s of margin, one or two looks
}
