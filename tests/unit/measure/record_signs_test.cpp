// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <numbers>

#include "evenwall/error.hpp"
#include "evenwall/measure.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/memory_source.hpp"
#include "support/refusal.hpp"

using namespace evenwall;

namespace {

constexpr double kNoRecord_rpm = 300;  // as calibrate measures

struct Bench {
  double tone_hz = 1000;
  double wow_percent = 0;  // peak, once in 1.8 s
  double drift_ppm_per_s = 0;
  double clock_ppm = 0;
  double noise = 0;  // standard deviation, full scale = 1; the tone's amplitude is 0.25
  double hum = 0;    // amplitude
  bool lateral = false;
};

/// Left only for 3 s, right only for 3 s, and both together if asked for.
Measurement measured(const Bench& bench) {
  Canvas canvas(48000, bench.lateral ? 12 : 8);
  const auto add = [&](double start_s, Complex left, Complex right) {
    const auto phase = [&](double t) {
      const double turns =
          bench.tone_hz * ((1 + 1e-6 * bench.clock_ppm) * t + 0.5e-6 * bench.drift_ppm_per_s * t * t -
                           0.01 * bench.wow_percent * 1.8 / (2 * std::numbers::pi) * std::cos(2 * std::numbers::pi * t / 1.8));
      return 2 * std::numbers::pi * turns;
    };
    const auto first = static_cast<std::size_t>(start_s * 48000);
    for (std::size_t n = first; n < first + 3 * 48000; ++n) {
      const Complex turn = std::polar(1.0, phase(static_cast<double>(n) / 48000));
      canvas.samples[2 * n] += static_cast<float>((left * turn).real());
      canvas.samples[2 * n + 1] += static_cast<float>((right * turn).real());
    }
  };
  add(0.5, 0.25, 0.003);
  add(4.5, 0.002, 0.25);
  if (bench.lateral) add(8.5, 0.25, 0.25);
  if (bench.noise > 0) canvas.noise(bench.noise, 5);
  if (bench.hum > 0) canvas.tone(0, bench.lateral ? 12 : 8, 50, bench.hum, bench.hum);
  auto source = canvas.source();
  MeasureOptions options;
  options.rpm = kNoRecord_rpm;
  return measure(source, options);
}

}  // namespace

TEST_CASE("Electronics pass: clean, noisy, with hum, and with clocks or oscillators that are off") {
  for (const double tone_hz : {315.0, 1000.0, 10000.0}) {
    INFO(tone_hz);
    CHECK_FALSE(record_in_calibration(measured({.tone_hz = tone_hz})));
    CHECK_FALSE(record_in_calibration(measured({.tone_hz = tone_hz, .clock_ppm = 80})));
    CHECK_FALSE(record_in_calibration(measured({.tone_hz = tone_hz, .drift_ppm_per_s = 10})));
    CHECK_FALSE(record_in_calibration(measured({.tone_hz = tone_hz, .noise = 0.0018})));  // -40 dB below the tone
    CHECK_FALSE(record_in_calibration(measured({.tone_hz = tone_hz, .noise = 0.0018, .hum = tone_hz > 500 ? 0.025 : 0.0025})));
  }
}

TEST_CASE("A record is recognised by its wow, also a quiet and clean one") {
  for (const double tone_hz : {315.0, 1000.0, 10000.0}) {
    INFO(tone_hz);
    for (const double wow_percent : {0.02, 0.05, 0.2}) {
      const auto found = record_in_calibration(measured({.tone_hz = tone_hz, .wow_percent = wow_percent}));
      REQUIRE(found);
      CHECK(found->code == WarningCode::kCalibrationFromRecord);
      CHECK(holds(found->message, "the pitch of the tone wanders by 0."));
    }
    CHECK(record_in_calibration(measured({.tone_hz = tone_hz, .wow_percent = 0.03, .noise = 0.0006, .hum = 0.0004})));  // -50 dB
  }
}

TEST_CASE("A both-channel band is a sign of a record even if the pitch is steady") {
  const auto found = record_in_calibration(measured({.lateral = true}));
  REQUIRE(found);
  CHECK(holds(found->message, "both channels are driven at 8.5 s"));
}

TEST_CASE("A tone of another frequency in both channels is no sign: it may be hum") {
  Measurement m = measured({});
  Passage hum = m.passages.front();
  hum.driven = Driven::kBoth;
  hum.frequency_hz = 150;
  m.passages.push_back(hum);
  CHECK_FALSE(record_in_calibration(m));
  m.passages.back().frequency_hz = 1010;
  CHECK(record_in_calibration(m));
  m.passages.back().frequency_hz.reset();
  m.passages.back().kind = PassageKind::kNoise;
  CHECK_FALSE(record_in_calibration(m));
  m.passages.back().kind = PassageKind::kSweep;
  CHECK(record_in_calibration(m));
}

TEST_CASE("calibrate refuses the measurement of a record") {
  const std::vector<Measurement> measurements{measured({.wow_percent = 0.1})};
  CHECK(holds(refusal_of([&] { calibrate(measurements); }, ErrorKind::kData), "the pitch of the tone wanders"));
  CHECK(calibrate({measured({})}).points.size() == 1);
}
