// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/turning_speed.hpp"

#include <cmath>
#include <numbers>

#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kRowHop_s = 0.00533;

/// A driven channel 2 Hz above its oscillator, with noise and with wow of 1 Hz at that speed.
RatioCourse with_wow(double rpm, std::size_t n) {
  rig::Draw draw(3);
  RatioCourse course{1, kRowHop_s, 4, std::vector<Complex>(n), std::vector<double>(n, 0.2), {}, std::vector<double>(n, 1.0)};
  double phase = 0;
  for (std::size_t f = 0; f < n; ++f) {
    phase += 2 * std::numbers::pi * kRowHop_s * (2 + std::sin(2 * std::numbers::pi * rpm / 60 * course.time_s(f)));
    course.driven.push_back(0.2 * std::polar(1.0, phase) + Complex(1e-4 * draw.normal(), 1e-4 * draw.normal()));
  }
  return course;
}

}  // namespace

TEST_CASE("A stated speed is the only possible one, and otherwise the shares of the possible speeds add up to one") {
  REQUIRE(possible_speeds(45.0).size() == 1);
  CHECK(possible_speeds(45.0)[0].rpm == 45);
  double shares = 0;
  for (const PossibleSpeed& s : possible_speeds(std::nullopt)) shares += s.share;
  CHECK_THAT(shares, WithinAbs(1, 1e-12));
}

TEST_CASE("Wow determines the speed of the record") {
  for (const double rpm : {100.0 / 3, 45.0, 78.26}) {
    const RatioCourse course = with_wow(rpm, 560);  // 3 s
    const PitchCourse pitch = pitch_of(course, std::vector<double>(560, 1.0));
    const auto speeds = possible_speeds(std::nullopt);
    std::vector<double> rpms;
    for (const PossibleSpeed& s : speeds) rpms.push_back(s.rpm);
    const auto evidence = wow_evidence(pitch, rpms);
    for (std::size_t i = 0; i < speeds.size(); ++i) {
      CAPTURE(rpm, rpms[i]);
      if (std::abs(rpms[i] - rpm) < 0.1) {
        CHECK(evidence[i] == 0);
      } else {
        CHECK(evidence[i] < -5);
      }
    }
  }
}

TEST_CASE("Pitch is given relative to its median, and clicks are excluded from it") {
  RatioCourse course = with_wow(100.0 / 3, 560);
  for (std::size_t f = 200; f < 204; ++f) course.driven[f] = {0, 30};
  const PitchCourse pitch = pitch_of(course, std::vector<double>(560, 1.0));
  for (const double hz : pitch.hertz) CHECK(std::abs(hz) < 3);
  CHECK(pitch.hertz.size() >= 135);
}

TEST_CASE("A course that is too short prefers no speed") {
  const PitchCourse pitch = pitch_of(with_wow(45, 30), std::vector<double>(30, 1.0));
  CHECK(wow_evidence(pitch, {33.3, 45, 78}) == std::vector<double>{0, 0, 0});
}
