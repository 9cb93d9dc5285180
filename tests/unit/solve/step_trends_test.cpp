// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/step_trends.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

/// Steps that were played at logged tilts, each with its own error.
Session played(const std::vector<double>& logged, const std::vector<double>& error_deg, std::uint64_t seed) {
  rig::Draw draw(seed);
  const rig::Rig r = rig::random_rig(draw);
  Session session;
  session.facts.gauge_u_deg = 0.05;
  for (std::size_t i = 0; i < logged.size(); ++i) {
    Step step = rig::step(r, logged[i] + error_deg[i], logged[i], 3e-5, draw, static_cast<int>(i));
    session.steps.push_back(std::move(step));
  }
  return session;
}

const std::vector<double> kFiveTilts{-2, -1, 0, 1, 2};
const std::vector<double> kNone{0, 0, 0, 0, 0};

}  // namespace

TEST_CASE("Geometry alone gives no warning of lost contact, even at −20 dB of shear") {
  for (const double shear_deg : {2.9, 1.6, -2.9, -5.7}) {
    for (std::uint64_t seed = 1; seed <= 40; ++seed) {
      rig::Draw draw(seed);
      rig::Rig r = rig::random_rig(draw);
      r.delta_left_deg = 0.4 + shear_deg;
      r.delta_right_deg = 0.4 - shear_deg;
      Session session = session_of(r, kFiveTilts, 1e-4, draw, 0.0);
      for (Step& step : session.steps) {
        // Levels repeat to 0.01 dB.
        const double by = std::pow(10.0, 0.01 * draw.normal() / 20);
        for (auto& pair : measurement_of(step).crosstalk_spectrum) {
          *pair.right_into_left->re /= by, *pair.right_into_left->im /= by;
          *pair.left_into_right->re *= by, *pair.left_into_right->im *= by;
        }
      }
      INFO("shear " << shear_deg << ", seed " << seed);
      CHECK_FALSE(says(solve(session, {}).warnings, WarningCode::kBalanceMovesWithTilt));
    }
  }
}

TEST_CASE("Warnings report balance and distortion that move with tilt") {
  Session session = played(kFiveTilts, kNone, 3);
  for (Step& step : session.steps) {
    const double tilt = *step.log.tilt_deg;
    const double by = std::pow(10.0, 0.1 * tilt / 20);
    for (auto& pair : measurement_of(step).crosstalk_spectrum) *pair.right_into_left->re /= by, *pair.right_into_left->im /= by;
    for (Passage& p : measurement_of(step).passages) p.distortion_percent = p.driven == Driven::kRight ? 1.0 + 0.5 * (tilt + 2) : 1.0;
  }
  const Warnings warnings = solve(session, {}).warnings;
  CHECK(says(warnings, WarningCode::kBalanceMovesWithTilt));
  CHECK(says(warnings, WarningCode::kDistortionMovesWithTilt));
  const auto wall = [](const Warnings& all) {
    std::string walls;
    for (const Warning& w : all) {
      if (w.code == WarningCode::kDistortionMovesWithTilt) walls += w.message.substr(0, w.message.find(" channel"));
    }
    return walls;
  };
  CHECK(wall(warnings) == "the distortion of the right");
  Session spoilt = session;  // with a reading that no measurement gives
  for (Passage& p : measurement_of(spoilt.steps[0]).passages) p.distortion_percent = -1e308;
  for (const Warning& w : solve(spoilt, {}).warnings) CHECK(w.message.find("inf") == std::string::npos);
  // If the recorder's channels are swapped, the left channel is named; if the leads are swapped as well, the right channel is named again.
  session.facts.bands = {Band::kRight, Band::kLeft};
  CHECK(wall(solve(session, {}).warnings) == "the distortion of the left");
  for (Step& step : session.steps) step.log.leads_swapped = true;
  session.facts.bands = {Band::kLeft, Band::kRight};
  CHECK(wall(solve(session, {}).warnings) == "the distortion of the right");
}

TEST_CASE("Drift with sequence and backlash by approach are reported, and a session without them gives neither warning") {
  const std::vector<double> eight{-2, -1, 0, 1, 1, 0, -1, -2};
  Session drifting = played(eight, {0, 0.02, 0.04, 0.06, 0.08, 0.10, 0.12, 0.14}, 4);
  Session slack = played(eight, {0.05, 0.05, 0.05, 0.05, -0.05, -0.05, -0.05, -0.05}, 5);
  Session fine = played(eight, std::vector<double>(8, 0.0), 6);
  for (Session* session : {&drifting, &slack, &fine}) {
    for (std::size_t i = 0; i < 8; ++i) {
      if (session == &drifting || session == &fine) session->steps[i].log.sequence = static_cast<double>(i + 1);
      if (session == &slack || session == &fine) session->steps[i].log.approach = i < 4 ? "up" : "down";
    }
  }
  CHECK(says(solve(drifting, {}).warnings, WarningCode::kDrift));
  CHECK(says(solve(slack, {}).warnings, WarningCode::kBacklash));
  const Warnings none = solve(fine, {}).warnings;
  CHECK_FALSE(says(none, WarningCode::kDrift));
  CHECK_FALSE(says(none, WarningCode::kBacklash));
}

TEST_CASE("Repeats distinguish a bent response from scatter") {
  const std::vector<double> logged{-2, -2, -1, -1, 0, 0, 1, 1, 2, 2};
  const std::vector<double> bent{0.15, 0.15, -0.07, -0.07, -0.15, -0.15, -0.07, -0.07, 0.15, 0.15};
  const std::vector<double> scattered{0.15, -0.12, -0.07, 0.1, -0.15, 0.08, 0.07, -0.1, 0.15, -0.15};
  CHECK(says(solve(played(logged, bent, 7), {}).warnings, WarningCode::kBentResponse));
  CHECK_FALSE(says(solve(played(logged, scattered, 7), {}).warnings, WarningCode::kBentResponse));
}

TEST_CASE("Repeats show the reproducibility of setting, and whether the settings lie on one line") {
  // Three settings four times each, gauge scatter 0.05°: nine degrees of freedom determine the figure within a factor of two.
  rig::Draw draw(21);
  std::vector<double> logged, errors;
  for (const double setting : {-2.0, 0.0, 2.0}) {
    for (int i = 0; i < 4; ++i) {
      logged.push_back(setting);
      errors.push_back(0.05 * draw.normal());
    }
  }
  const Solution straight = solve(played(logged, errors, 21), {});
  REQUIRE(straight.repeatability);
  CHECK(straight.repeatability->degrees_of_freedom == 9);
  CHECK_THAT(straight.repeatability->u_deg, WithinAbs(0.05, 0.025));
  REQUIRE(straight.repeatability->lack_of_fit_p);
  CHECK(*straight.repeatability->lack_of_fit_p > 0.01);
  CHECK_FALSE(says(straight.warnings, WarningCode::kBentResponse));

  for (std::size_t i = 4; i < 8; ++i) errors[i] += 0.5;
  const Solution bent = solve(played(logged, errors, 21), {});
  CHECK(*bent.repeatability->lack_of_fit_p < 1e-4);
  CHECK(says(bent.warnings, WarningCode::kBentResponse));
  CHECK_FALSE(solve(played(kFiveTilts, kNone, 1), {}).repeatability);
}

TEST_CASE("If the response is straight, the p values of the lack-of-fit test are uniform") {
  int below_half = 0, below_tenth = 0;
  for (std::uint64_t seed = 1; seed <= drawn(200U); ++seed) {
    rig::Draw draw(seed);
    std::vector<double> logged, errors;
    for (const double setting : {-3.0, -1.0, 1.0, 3.0}) {
      for (int i = 0; i < 3; ++i) {
        logged.push_back(setting);
        errors.push_back(0.05 * draw.normal());
      }
    }
    const auto repeatability = solve(played(logged, errors, seed), {}).repeatability;
    below_half += *repeatability->lack_of_fit_p < 0.5 ? 1 : 0;
    below_tenth += *repeatability->lack_of_fit_p < 0.1 ? 1 : 0;
  }
  if (few_sessions()) return;
  // The p values are uniform: three standard errors of a share of 200 are allowed.
  CHECK_THAT(below_half / 200.0, WithinAbs(0.5, 0.106));
  CHECK_THAT(below_tenth / 200.0, WithinAbs(0.1, 0.064));
}
