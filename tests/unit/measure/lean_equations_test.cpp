// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/lean_equations.hpp"

#include <cmath>
#include <numbers>

#include "evenwall/units.hpp"
#include "measure/lean_constants.hpp"
#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kRow_s = 0.02132;
constexpr double kNoise = 1e-4;

/// Rows without noise, with a lean that recurs `rpm` times per minute and grows by the share `growth` per turn.
Blocks leaning(double seconds, double rpm, double growth) {
  Blocks blocks;
  const auto n = static_cast<Eigen::Index>(seconds / kRow_s);
  blocks.weight = Eigen::VectorXd::Ones(n);
  blocks.ratio.resize(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const double t = kRow_s * (static_cast<double>(i) - 0.5 * static_cast<double>(n - 1));
    const double turns = rpm / 60 * t;
    blocks.time_s.push_back(t);
    const double lean = radians(0.2) * std::sin(2 * std::numbers::pi * turns) + radians(0.05) * std::cos(6 * std::numbers::pi * turns);
    blocks.ratio[i] = 0.03 + (1 + growth * turns) * lean;
  }
  return blocks;
}

TurnDoubt doubt_of(const Blocks& blocks, double rpm, SpeedAnswer* answer = nullptr) {
  const Equations e = equations_of(blocks, internal::numeric::turn_phasors(blocks.time_s, 0, rpm), rpm, kLeanHarmonics);
  const double variance = kNoise * kNoise;
  const SpeedAnswer found = answer_along(e.information / variance, e.pull.real() / variance);
  if (answer != nullptr) *answer = found;
  return turn_doubt(e, blocks, 0, found, variance, 0);
}

}  // namespace

TEST_CASE("Blocks are weighted means of four frames, and those without weight are excluded") {
  RatioCourse course{10, 0.005, 4, {1, 2, 3, 4, 5, 5, 5, 5, 9, 9, 9, 9}, std::vector<double>(12, 1.0), {}, std::vector<double>(12, 1.0)};
  const Blocks blocks = blocks_of(course, {1, 1, 1, 1, 0, 0, 0, 0, 1, 0, 0, 0}, Complex(0, 1));
  REQUIRE(blocks.time_s.size() == 2);
  CHECK(std::abs(blocks.ratio[0] - Complex(0, 2.5)) < 1e-12);
  CHECK(std::abs(blocks.ratio[1] - Complex(0, 9)) < 1e-12);
  CHECK_THAT(blocks.time_s[1], WithinAbs(10.04, 1e-12));
  CHECK(blocks.weight[0] == 4);
}

TEST_CASE("The first correction of the speed finds nine tenths of a speed error of 0.1 %") {
  // The record turns 0.1 % too fast over 10 s. The first step finds most of that.
  const TurnDoubt doubt = doubt_of(leaning(10, 1.001 * 100 / 3, 0), 100.0 / 3);
  CHECK_THAT(doubt.speed, WithinRel(0.001, 0.1));
  CHECK(std::abs(doubt_of(leaning(10, 100.0 / 3, 0), 100.0 / 3).speed) < 1e-5);
}

TEST_CASE("If the growth of the lean is an unknown, a growing lean moves the constant less than a third as much") {
  // Only the mean of the growing sine differs from zero. It is 4 % per turn of 0.2°, divided by 2π.
  SpeedAnswer before;
  const TurnDoubt doubt = doubt_of(leaning(3.6, 100.0 / 3, 0.04), 100.0 / 3, &before);
  CHECK(std::abs(before.mean + doubt.mean - 0.03) < 0.3 * std::abs(before.mean - 0.03));
}

TEST_CASE("Speed and growth of the lean add a variance in one turn, and less than a hundredth of it in five turns") {
  const TurnDoubt one = doubt_of(leaning(1.9, 100.0 / 3, 0), 100.0 / 3);
  const TurnDoubt five = doubt_of(leaning(9, 100.0 / 3, 0), 100.0 / 3);
  CHECK(std::sqrt(one.groove_variance) > radians(0.0005));
  CHECK(five.groove_variance < 0.01 * one.groove_variance);
}

TEST_CASE("The lowest harmonics of the lean determine a speed that is 1 % too fast to within 0.1 %") {
  const Blocks blocks = leaning(8, 1.01 * 100 / 3, 0);
  CHECK_THAT(found_rpm(blocks, 0, 100.0 / 3, kNoise * kNoise, {}), WithinRel(1.01 * 100 / 3, 0.001));
}
