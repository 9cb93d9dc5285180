// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/error.hpp"
#include "evenwall/measure.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using std::polar;

namespace {

const Complex kRightIntoLeft = polar(0.02, 0.5);   // crosstalk from right into left
const Complex kLeftIntoRight = polar(0.01, -2.0);  // crosstalk from left into right

Canvas record(double rate_hz = 48000, double noise = 0.001) {
  Canvas canvas(rate_hz, 20);
  canvas.tone(2, 5, 1000, 0.25, 0.25 * kLeftIntoRight);
  canvas.tone(8, 5, 1000, 0.2 * kRightIntoLeft, 0.2);
  canvas.tone(14, 4, 1000, 0.3, polar(0.28, -0.1));
  return canvas.noise(noise, 1);
}

}  // namespace

TEST_CASE("Crosstalk, levels and phase of a plain recording are measured correctly") {
  auto source = record().source();
  const Measurement r = measure(source, {});
  REQUIRE(r.passages.size() == 3);
  CHECK(r.passages[0].driven == Driven::kLeft);
  CHECK(r.passages[1].driven == Driven::kRight);
  CHECK(r.passages[2].driven == Driven::kBoth);
  CHECK(r.passages[2].relation == Relation::kInPhase);
  CHECK_THAT(r.passages[0].start_s, WithinAbs(2.0, 0.02));
  CHECK_THAT(r.passages[0].end_s, WithinAbs(7.0, 0.02));
  CHECK_THAT(*r.passages[0].frequency_hz, WithinAbs(1000, 0.01));
  const auto& rl = r.crosstalk.right_into_left->same_passage;
  const auto& lr = r.crosstalk.left_into_right->same_passage;
  // The bound is sqrt(2)·σ/(A·√N) = 1.4e-5 and 1.2e-5. The limits allow 4 times that.
  CHECK(std::abs(rl.value - kRightIntoLeft) < 6e-5);
  CHECK(std::abs(lr.value - kLeftIntoRight) < 5e-5);
  CHECK(rl.u_re > 0.8e-5);
  CHECK(rl.u_re < 2.4e-5);
  CHECK_THAT(*r.balance_db, WithinAbs(decibels(0.25 / 0.2), 0.01));
  CHECK_THAT(*r.interchannel_phase_deg, WithinAbs(degrees(0.1), 0.02));
  CHECK_THAT(r.passages[0].level_left_dbfs, WithinAbs(decibels(0.25), 0.01));
  CHECK_THAT(r.passages[0].snr_db, WithinAbs(decibels(0.25 / std::sqrt(2.0) / 0.001), 1.0));
  CHECK(*r.passages[0].distortion_percent < 0.2);
  CHECK(*r.passages[0].wow_percent < 0.01);
  CHECK(r.warnings.empty());
}

TEST_CASE("Recordings of noise with hum, of silence and of two identical channels are refused") {
  Canvas canvas(48000, 10);
  canvas.noise(0.003, 2);
  canvas.tone(0, 10, 50, 0.1, 0.1);
  auto source = canvas.source();
  CHECK_THROWS_AS(measure(source, {}), Error);
  auto silence = Canvas(48000, 5).source();
  CHECK_THROWS_WITH(measure(silence, {}), ContainsSubstring("silent"));
  Canvas dual(48000, 6);
  auto mono = dual.tone(1, 4, 1000, 0.2, 0.2).source();
  CHECK_THROWS_WITH(measure(mono, {}), ContainsSubstring("identical"));
}

TEST_CASE("Clicks, a dropout and a DC offset do not change the crosstalk") {
  Canvas canvas = record();
  rig::Draw draw(3);
  for (int i = 0; i < 40; ++i) {
    const auto at = static_cast<std::size_t>(draw.uniform(0, 19.9) * 48000);
    for (std::size_t n = 0; n < 20; ++n) {
      canvas.samples[2 * (at + n)] += static_cast<float>(0.8 * draw.normal());
      canvas.samples[2 * (at + n) + 1] += static_cast<float>(0.8 * draw.normal());
    }
  }
  for (std::size_t n = 4 * 48000; n < 4 * 48000 + 2400; ++n) canvas.samples[2 * n] = canvas.samples[2 * n + 1] = 0;
  for (float& x : canvas.samples) x += 0.02F;
  auto source = canvas.source();
  const Measurement r = measure(source, {});
  CHECK(std::abs(r.crosstalk.right_into_left->same_passage.value - kRightIntoLeft) < 1e-4);
  CHECK(std::abs(r.crosstalk.left_into_right->same_passage.value - kLeftIntoRight) < 1e-4);
  const auto has = [&](WarningCode code) {
    return std::any_of(r.warnings.begin(), r.warnings.end(), [&](const auto& w) { return w.code == code; });
  };
  CHECK(has(WarningCode::kDcOffset));
}

TEST_CASE("Once-per-revolution warp is separated from the crosstalk") {
  const double rate_hz = 48000;
  Canvas canvas = record(rate_hz);
  const double warp = radians(0.08);
  for (std::size_t n = 8 * 48000; n < 13 * 48000; ++n) {
    const double t = static_cast<double>(n) / rate_hz;
    const double lean = warp * std::cos(2 * 3.14159265358979323846 * t / 1.8 + 0.7);
    canvas.samples[2 * n] += static_cast<float>(0.2 * lean * std::cos(2 * 3.14159265358979323846 * std::fmod(1000 * t, 1.0)));
  }
  auto source = canvas.source();
  const Measurement r = measure(source, {});
  CHECK(std::abs(r.crosstalk.right_into_left->same_passage.value - kRightIntoLeft) < 6e-5);
  CHECK(r.crosstalk.right_into_left->same_passage.u_re < 3e-5);
  CHECK_THAT(*r.warp_deg, WithinAbs(0.08 / std::sqrt(2.0), 0.004));  // only one of the two passages has a lean
}

TEST_CASE("A missing side is null and named in a warning, and a frequency that is not recorded is refused") {
  Canvas canvas(48000, 8);
  canvas.tone(1, 5, 1000, 0.25, 0.25 * kLeftIntoRight).noise(0.001, 4);
  auto source = canvas.source();
  const Measurement r = measure(source, {});
  CHECK(r.crosstalk.left_into_right);
  CHECK_FALSE(r.crosstalk.right_into_left);
  CHECK_FALSE(r.balance_db);
  REQUIRE(r.warnings.size() == 1);
  CHECK(r.warnings[0].code == WarningCode::kMissingPassage);
  MeasureOptions options;
  options.frequency_hz = 315;
  CHECK_THROWS_WITH(measure(source, options), ContainsSubstring("1000.0 Hz"));
}

TEST_CASE("If a tone's frequency is wrong by a typical factor, the refusal suggests the sample rate or the speed as the cause") {
  const auto hint = [](double asked_hz, const char* text) {
    auto source = Canvas(48000, 8).tone(1, 5, 1000, 0.25, 0.25 * kLeftIntoRight).noise(0.001, 4).source();
    MeasureOptions options;
    options.frequency_hz = asked_hz;
    CHECK_THROWS_WITH(measure(source, options), ContainsSubstring(text));
  };
  hint(2000, "half the true one");
  hint(500, "twice the true one");
  hint(1000 * 44.1 / 48, "48 kHz for audio recorded at 44.1");
  hint(1000 * 48 / 44.1, "44.1 kHz for audio recorded at 48");
  hint(1000 / 1.35, "played at 45");
  hint(1350, "played at 33 1/3");
}

TEST_CASE("Audio outside the requested stretch does not affect the reading") {
  Canvas canvas = record();
  const double length_s = static_cast<double>(canvas.samples.size()) / (2 * canvas.rate_hz);
  Canvas two(48000, 2 * length_s);
  std::copy(canvas.samples.begin(), canvas.samples.end(), two.samples.begin());
  // Another step, with crosstalk 6 dB below the tone.
  two.tone(length_s + 0.5, 2, 1000, 0.2, 0.1).tone(length_s + 3, 2, 1000, 0.1, 0.2);
  auto both = two.source();
  auto alone = canvas.source();
  MeasureOptions options;
  options.to_s = length_s;
  const Measurement cut = measure(both, options);
  const Measurement whole = measure(alone, {});
  REQUIRE(cut.passages.size() == whole.passages.size());
  CHECK(cut.crosstalk.right_into_left->same_passage.value == whole.crosstalk.right_into_left->same_passage.value);
  CHECK(cut.crosstalk.left_into_right->same_passage.value == whole.crosstalk.left_into_right->same_passage.value);
}

TEST_CASE("Recordings with hard clipping or with samples that are not numbers are refused") {
  Canvas canvas = record();
  for (float& x : canvas.samples) x = std::clamp(x, -0.1F, 0.1F);
  auto clipped = canvas.source();
  CHECK_THROWS_WITH(measure(clipped, {}), ContainsSubstring("are clipped. The recording is not measured"));
  Canvas nan = record();
  for (std::size_t i = 0; i < nan.samples.size(); i += 3) nan.samples[i] = std::nanf("");
  auto broken = nan.source();
  CHECK_THROWS_AS(measure(broken, {}), Error);
}

TEST_CASE("Bands clipped to square waves are refused as clipped, and not rejected as musical instruments") {
  // At six times full scale, the third harmonic has a third of the tone's amplitude. Every band is rejected for that reason.
  Canvas canvas(48000, 15);
  canvas.tone(2, 5, 1000, 6.0, 0.02).tone(8, 5, 1000, 0.02, 6.0).noise(1e-4, 2);
  for (float& x : canvas.samples) x = std::clamp(x, -1.0F, 1.0F);
  auto source = canvas.source();
  CHECK_THROWS_WITH(measure(source, {}), ContainsSubstring("are clipped. The recording is not measured"));
}

TEST_CASE("The crosstalk is measured correctly at five other sample rates") {
  for (const double rate_hz : {8000.0, 11025.0, 44100.0, 96000.0, 192000.0}) {
    auto source = record(rate_hz, 0.0005).source();
    const Measurement r = measure(source, {});
    INFO(rate_hz);
    CHECK(std::abs(r.crosstalk.right_into_left->same_passage.value - kRightIntoLeft) < 1.2e-4);
    CHECK(std::abs(r.crosstalk.left_into_right->same_passage.value - kLeftIntoRight) < 1.2e-4);
  }
}
