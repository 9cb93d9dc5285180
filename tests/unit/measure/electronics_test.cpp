// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/error.hpp"
#include "evenwall/measure.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using std::polar;

namespace {

const Complex kRl = polar(amplitude_ratio(-35), 0.7);
const Complex kLr = polar(amplitude_ratio(-30), -2.1);

Leak leak(Complex ratio, double u_re, double u_im) {
  Leak l;
  l.same_passage = {ratio, u_re, u_im, 0};
  return l;
}

Measurement measurement_of(std::vector<LeakPair> pairs) {
  Measurement m;
  m.crosstalk_spectrum = std::move(pairs);
  return m;
}

Measurement measured(Canvas canvas) {
  auto source = canvas.source();
  return measure(source, {});
}

}  // namespace

TEST_CASE("One recording with both sides gives the calibration matrix") {
  Canvas canvas(48000, 14);
  canvas.tone(1, 5, 1000, 0.25, 0.25 * kLr).tone(7, 5, 1000, 0.2 * kRl, 0.2).noise(1e-4, 11);
  const Calibration c = calibrate({measured(canvas)});
  REQUIRE(c.points.size() == 1);
  CHECK_THAT(c.points[0].frequency_hz, WithinAbs(1000, 0.01));
  CHECK(c.points[0].matrix[0] == Complex(1, 0));
  CHECK(c.points[0].matrix[3] == Complex(1, 0));
  // The bound is sqrt(2)·1e-4/(0.2·sqrt(240000)) = 1.4e-6 for each part. The limit allows 5 times that and the bias of float samples.
  CHECK(std::abs(c.points[0].matrix[1] - kRl) < 1e-5);
  CHECK(std::abs(c.points[0].matrix[2] - kLr) < 1e-5);
  CHECK(c.points[0].u_off_diagonal[0] > 0.7e-6);
  CHECK(c.points[0].u_off_diagonal[0] < 3e-6);
  CHECK(c.warnings.empty());
}

TEST_CASE("A channel in digital silence has zero crosstalk, and its passage is found") {
  Canvas left(48000, 6);
  left.tone(0.5, 5, 1000, 0.25, 0);
  Canvas right(48000, 6);
  right.tone(0.5, 5, 1000, 0, 0.25);
  const std::vector<Measurement> measurements{measured(left), measured(right)};
  REQUIRE(measurements[0].passages.size() == 1);
  CHECK(measurements[0].passages[0].driven == Driven::kLeft);
  CHECK(measurements[1].passages.at(0).driven == Driven::kRight);
  const Calibration c = calibrate(measurements);
  REQUIRE(c.points.size() == 1);
  CHECK(c.points[0].matrix == Matrix2{Complex{1, 0}, Complex{0, 0}, Complex{0, 0}, Complex{1, 0}});
  CHECK(c.points[0].u_off_diagonal == std::array<double, 2>{0, 0});
}

TEST_CASE("Noise on the driven channel alone gives no crosstalk into the silent channel") {
  Canvas both(48000, 12);
  both.tone(0.5, 5, 1000, 0.25, 0).tone(6, 5, 1000, 0, 0.25);
  rig::Draw draw(4);
  for (std::size_t n = 0; n < both.samples.size() / 2; ++n) {
    both.samples[2 * n + (n < 6 * 48000 - 12000 ? 0 : 1)] += static_cast<float>(1e-3 * draw.normal() + 0.01);
  }
  const Calibration c = calibrate({measured(both)});
  CHECK(std::abs(c.points.at(0).matrix[1]) < 1e-12);  // exact except for the rounding of the fit
  CHECK(std::abs(c.points.at(0).matrix[2]) < 1e-12);
}

TEST_CASE("Measurements are averaged by their variances for each side, and tones within 3 % count as one") {
  const std::vector<Measurement> measurements{
      measurement_of({{1000, leak(0.0100, 2e-4, 2e-4), std::nullopt}, {3000, leak(0.04, 3e-5, 4e-5), leak(Complex(0, 0.05), 1e-5, 1e-5)}}),
      measurement_of({{1020, leak(0.0101, 1e-4, 1e-4), leak(0.03, 1e-4, 1e-4)}})};
  const Calibration c = calibrate(measurements);
  REQUIRE(c.points.size() == 2);
  CHECK_THAT(c.points[0].frequency_hz, WithinAbs(1010, 1e-9));
  CHECK_THAT(c.points[0].matrix[1].real(), WithinAbs((0.0100 / 4 + 0.0101) / 1.25, 1e-12));  // weights 1/4 and 1
  CHECK_THAT(c.points[0].u_off_diagonal[0], WithinRel(1e-4 / std::sqrt(1.25), 1e-9));
  CHECK(c.points[0].matrix[2] == Complex(0.03, 0));
  CHECK(c.points[1].matrix[1] == Complex(0.04, 0));
  CHECK(c.points[1].matrix[2] == Complex(0, 0.05));
  CHECK_THAT(c.points[1].u_off_diagonal[0], WithinRel(std::sqrt(0.5 * (9e-10 + 16e-10)), 1e-12));  // rms of the parts
  CHECK_THAT(c.points[1].u_off_diagonal[1], WithinRel(1e-5, 1e-12));
}

TEST_CASE("A tone with only one side is excluded and named, and without a complete tone the calibration is refused") {
  const Measurement left = measurement_of({{315, std::nullopt, leak(0.01, 1e-4, 1e-4)}, {1000, std::nullopt, leak(0.01, 1e-4, 1e-4)}});
  const Measurement right = measurement_of({{1000, leak(0.02, 1e-4, 1e-4), std::nullopt}});
  const Calibration c = calibrate({left, right});
  CHECK(c.points.size() == 1);
  REQUIRE(c.warnings.size() == 1);
  CHECK(c.warnings[0].code == WarningCode::kMissingPassage);
  CHECK(c.warnings[0].message ==
        "no right-only passage at 315.0 Hz was found. The tone is excluded from the calibration. Inject it into that channel too.");
  CHECK_THROWS_WITH(calibrate({left}), ContainsSubstring("no right-only passage at 315.0 Hz, no right-only passage at 1000.0 Hz"));
  CHECK_THROWS_WITH(calibrate({right}), ContainsSubstring("no left-only passage at 1000.0 Hz"));
  CHECK_THROWS_WITH(calibrate({}), ContainsSubstring("in any recording"));
}
