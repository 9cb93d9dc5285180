// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sweep_passages.hpp"

#include "support/catch.hpp"
#include "support/sweeps.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

std::vector<SweepStretch> sweeps_of(const Canvas& canvas) {
  auto source = canvas.source();
  return find_sweeps(scan(source, {}, {}), canvas.rate_hz);
}

Canvas with_sweep(double length_s, double from_hz, double to_hz, bool logarithmic, Complex left, Complex right) {
  Canvas canvas(48000, length_s + 3);
  draw_sweep(
      canvas, 1.5, length_s,
      [=](double t) {
        return logarithmic ? from_hz * std::pow(to_hz / from_hz, t / length_s) : from_hz + (to_hz - from_hz) * t / length_s;
      },
      [=](double) { return std::pair(left, right); });
  canvas.noise(1e-3, 3);
  return canvas;
}

}  // namespace

TEST_CASE("Frequency, cycles and time of a sweep law agree with each other") {
  for (const SweepLaw law : {SweepLaw{true, 3, 500, 0.4}, SweepLaw{true, 3, 500, -0.4}, SweepLaw{false, 3, 500, 90}}) {
    for (const double t : {1.0, 3.0, 4.5}) {
      CHECK_THAT(law.time_s(law.frequency_hz(t)), WithinAbs(t, 1e-12));
      const double h = 1e-5;
      CHECK_THAT((law.cycles(t + h) - law.cycles(t - h)) / (2 * h), WithinRel(law.frequency_hz(t), 1e-6));  // rounding: 1e-13 over 2e-5
    }
    CHECK(law.cycles(3) == 0);
  }
}

TEST_CASE("Sweeps are found with their law, whether up or down, logarithmic or linear, on the left, the right or both channels") {
  struct Case {
    double length_s, from_hz, to_hz;
    bool logarithmic;
    Complex left, right;
    Driven driven;
  };
  for (const Case& c : {Case{15, 40, 16000, true, 0.2, 0.004, Driven::kLeft}, Case{15, 16000, 40, true, 0.004, 0.2, Driven::kRight},
                        Case{12, 20, 15000, false, 0.2, 0.004, Driven::kLeft}, Case{10, 12000, 300, false, 0.2, -0.2, Driven::kBoth},
                        Case{4, 100, 10000, true, 0.2, 0.002, Driven::kLeft}, Case{60, 20, 20000, true, 0.2, 0.002, Driven::kLeft}}) {
    INFO(c.length_s << " s, " << c.from_hz << " to " << c.to_hz);
    const auto found = sweeps_of(with_sweep(c.length_s, c.from_hz, c.to_hz, c.logarithmic, c.left, c.right));
    REQUIRE(found.size() == 1);
    CHECK(found[0].driven == c.driven);
    CHECK(found[0].law.logarithmic == c.logarithmic);
    const double middle_s = 1.5 + 0.5 * c.length_s;
    const double middle_hz = c.logarithmic ? std::sqrt(c.from_hz * c.to_hz) : 0.5 * (c.from_hz + c.to_hz);
    // The windows of the fine analysis tolerate this deviation.
    CHECK_THAT(found[0].law.frequency_hz(middle_s), WithinRel(middle_hz, 0.01));
    CHECK(found[0].earliest_s <= 1.501);  // where the law reaches 20 Hz
    CHECK(found[0].latest_s >= 1.5 + c.length_s - 0.1);
  }
}

TEST_CASE("Tones, noise, vibrato, melodies, scales and short glides are not taken for sweeps") {
  CHECK(sweeps_of(Canvas(48000, 12).tone(1, 10, 1000, 0.2, 0.002).noise(1e-3, 4)).empty());
  CHECK(sweeps_of(Canvas(48000, 12).noise(0.1, 5)).empty());
  CHECK(sweeps_of(with_sweep(1.5, 100, 10000, true, 0.2, 0.002)).empty());  // shorter than 2 s
  CHECK(sweeps_of(with_sweep(10, 800, 1200, true, 0.2, 0.002)).empty());    // less than an octave
  Canvas vibrato(48000, 12);
  draw_sweep(
      vibrato, 1, 10, [](double t) { return 900 * std::exp2(std::sin(2 * t)); },
      [](double) { return std::pair<Complex, Complex>(0.2, 0.002); });
  CHECK(sweeps_of(vibrato).empty());
  rig::Draw draw(8);
  Canvas melody(48000, 30);
  for (double t = 1; t < 28; t += 0.25) melody.tone(t, 0.25, 220 * std::exp2(draw.uniform(0, 4)), 0.2, 0.002);
  CHECK(sweeps_of(melody).empty());
  Canvas scale(48000, 14);  // a chromatic scale up four octaves in steps: a musician's sweep
  for (int k = 0; k < 48; ++k) scale.tone(1 + 0.25 * k, 0.25, 220 * std::exp2(k / 12.0), 0.2, 0.002);
  CHECK(sweeps_of(scale).empty());
}
