// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/playback.hpp"

#include <cmath>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::simulate;

namespace {

const SimulatedCartridge kPerfect;
const SimulatedRecord kTrueRecord;

Outputs played(Band band, double tilt_deg, const SimulatedRecord& record = kTrueRecord) {
  return generator_outputs(stylus_motion(band, record), tilt_deg, 1000, kPerfect);
}

}  // namespace

TEST_CASE("The signs follow IEC 60098, 6.2: the inner wall is left, the outer right; lateral bands are in phase, vertical in antiphase") {
  // IEC 60098:2020, seen in an excerpt. The inner wall faces the outside and up, to the viewer's right: a left-only signal pushes the
  // stylus along (+, +).
  const Vector2 left = stylus_motion(Band::kLeft, kTrueRecord);
  CHECK(left[0] > 0);
  CHECK(left[1] > 0);
  const Vector2 right = stylus_motion(Band::kRight, kTrueRecord);
  CHECK(right[0] > 0);
  CHECK(right[1] < 0);
  const Vector2 lateral = stylus_motion(Band::kLateral, kTrueRecord);
  CHECK_THAT(lateral[1], WithinAbs(0, 1e-15));
  CHECK_THAT(lateral[0], WithinAbs(std::sqrt(2.0), 1e-15));
  const Vector2 vertical = stylus_motion(Band::kVertical, kTrueRecord);
  CHECK_THAT(vertical[0], WithinAbs(0, 1e-15));
  const Outputs in_phase = played(Band::kLateral, 0);
  CHECK_THAT((in_phase.left / in_phase.right).real(), WithinAbs(1, 1e-14));
  const Outputs antiphase = played(Band::kVertical, 0);
  CHECK_THAT((antiphase.left / antiphase.right).real(), WithinAbs(-1, 1e-14));
}

TEST_CASE("A clockwise turn moves an upward vector to the right of the viewer") {
  const Vector2 v = turned({0, 1}, 90);
  CHECK_THAT(v[0], WithinAbs(1, 1e-15));
  CHECK_THAT(v[1], WithinAbs(0, 1e-15));
}

TEST_CASE("A perfect cartridge tilted by 1° has −35.16 dB of crosstalk in both directions, with opposite signs") {
  // 20·log10(tan 1°) = −35.1616 dB (mpmath).
  const Outputs right = played(Band::kRight, 1);
  const Outputs left = played(Band::kLeft, 1);
  const Complex rl = right.left / right.right;
  const Complex lr = left.right / left.left;
  CHECK_THAT(decibels(std::abs(rl)), WithinAbs(-35.1616, 5e-5));
  CHECK_THAT(decibels(std::abs(lr)), WithinAbs(-35.1616, 5e-5));
  CHECK(rl.real() > 0);
  CHECK(lr.real() < 0);
}

TEST_CASE("A cutting head rolled by 2° gives −29.14 dB of crosstalk and facets at 47° and 43°") {
  // Common practice, no source; 20·log10(tan 2°) = −29.1383 dB (mpmath).
  SimulatedRecord record;
  record.cut_error_left_deg = record.cut_error_right_deg = 2;
  const Outputs right = played(Band::kRight, 0, record);
  CHECK_THAT(decibels(std::abs(right.left / right.right)), WithinAbs(-29.1383, 5e-5));
  const Vector2 left = stylus_motion(Band::kLeft, record);
  CHECK_THAT(degrees(std::atan2(left[1], left[0])), WithinAbs(43, 1e-12));
  const Vector2 other = stylus_motion(Band::kRight, record);
  CHECK_THAT(degrees(std::atan2(-other[1], other[0])), WithinAbs(47, 1e-12));
  // A cartridge turned with the head shows no crosstalk from it.
  CHECK(std::abs(played(Band::kRight, 2, record).left) < 1e-15);
}

TEST_CASE("The outputs computed with vectors equal the formulas of the response matrix") {
  SimulatedCartridge cartridge;
  cartridge.generator_error_left_deg = 0.7;
  cartridge.generator_error_right_deg = -0.4;
  SimulatedRecord record;
  record.cut_error_left_deg = 0.3;
  record.cut_error_right_deg = -0.9;
  const double tilt = 1.6;
  const Outputs left = generator_outputs(stylus_motion(Band::kLeft, record), tilt, 1000, cartridge);
  const Outputs right = generator_outputs(stylus_motion(Band::kRight, record), tilt, 1000, cartridge);
  CHECK_THAT(left.left.real(), WithinAbs(std::cos(radians(tilt + 0.7 - 0.3)), 1e-14));
  CHECK_THAT(right.left.real(), WithinAbs(std::sin(radians(tilt + 0.7 + 0.9)), 1e-14));
  CHECK_THAT(left.right.real(), WithinAbs(-std::sin(radians(tilt - 0.4 - 0.3)), 1e-14));
  CHECK_THAT(right.right.real(), WithinAbs(std::cos(radians(tilt - 0.4 + 0.9)), 1e-14));
}

TEST_CASE("Gains, delay, electronics and wiring act in the order of the signal path") {
  SimulatedCartridge cartridge;
  cartridge.gain_imbalance_db = 2;
  cartridge.left_delay_s = 1.0 / 48000;
  const Outputs out = chain_outputs({1, 1}, 1000, cartridge);
  CHECK_THAT(decibels(std::abs(out.left / out.right)), WithinAbs(2, 1e-12));
  // One sample at 48 kHz is 7.5° at 1 kHz.
  CHECK_THAT(phase_deg(out.left / out.right), WithinAbs(-7.5, 1e-12));
  cartridge = {};
  cartridge.electronics[1] = 0.01;
  CHECK(std::abs(chain_outputs({0, 1}, 1000, cartridge).left - 0.01) < 1e-15);
  cartridge.channels_swapped = true;
  CHECK(std::abs(chain_outputs({0, 1}, 1000, cartridge).right - 0.01) < 1e-15);
  cartridge = {};
  cartridge.right_polarity_reversed = true;
  CHECK(chain_outputs({1, 1}, 1000, cartridge).right.real() < 0);
}
