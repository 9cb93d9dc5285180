// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/recordings.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/recordings.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;
using recordings::bench, recordings::Bench;

namespace {

/// Root mean square of the errors of least crosstalk over their standard uncertainties, of sessions that `spoil` has changed.
template <typename Do>
double errors_over_u(std::uint64_t all_sessions, const Do& spoil, double* u_deg = nullptr) {
  const std::uint64_t sessions = drawn(all_sessions);
  double squares = 0, u2 = 0;
  for (std::uint64_t seed = 1; seed <= sessions; ++seed) {
    Bench b = bench(seed);
    rig::Draw draw(seed + 1000);
    spoil(b.session, draw);
    const Solution s = solve(b.session, {});
    squares += std::pow((s.least_crosstalk.tilt_deg - b.least_deg) / s.least_crosstalk.u_deg, 2);
    u2 += s.least_crosstalk.u_deg * s.least_crosstalk.u_deg;
  }
  if (u_deg != nullptr) *u_deg = std::sqrt(u2 / static_cast<double>(sessions));
  return std::sqrt(squares / static_cast<double>(sessions));
}

}  // namespace

TEST_CASE("A turned knob, a drift and a jitter of the balance hardly enlarge the errors, and a turned knob is reported") {
  double alike_deg = 0, own_deg = 0;
  errors_over_u(
      40, [](Session&, rig::Draw&) {}, &alike_deg);
  const double knob = errors_over_u(40, [](Session& session, rig::Draw& draw) {
    const auto from = static_cast<std::size_t>(draw.uniform(1, 5));
    for (std::size_t i = from; i < 5; ++i) recordings::change_gain(session.steps[i], 0.5, 0);
  });
  const double drift = errors_over_u(40, [](Session& session, rig::Draw&) {
    for (std::size_t i = 0; i < 5; ++i) recordings::change_gain(session.steps[i], 0.1 * static_cast<double>(i), 0);
  });
  const double jitter = errors_over_u(
      40,
      [](Session& session, rig::Draw& draw) {
        for (Step& step : session.steps) recordings::change_gain(step, 0.5 * draw.normal(), 0);
      },
      &own_deg);
  if (few_sessions()) return;
  // If each of 40 errors is at most one standard uncertainty, their root mean square exceeds 1.35 only beyond three of its standard errors.
  CHECK(knob < 1.35);
  CHECK(drift < 1.35);
  CHECK(jitter < 1.35);
  CHECK(own_deg < 1.6 * alike_deg);
  Bench b = bench(7);
  for (std::size_t i = 3; i < 5; ++i) recordings::change_gain(b.session.steps[i], 0.5, 0);
  const Solution s = solve(b.session, {});
  CHECK(says(s.warnings, WarningCode::kRecordingsDiffer));
  CHECK_FALSE(says(s.warnings, WarningCode::kBalanceMovesWithTilt));
  CHECK_FALSE(says(s.warnings, WarningCode::kStepsContradict));
}

TEST_CASE("A different delay in each recording hardly enlarges the errors if a both-channel passage shows it") {
  const double delays = errors_over_u(40, [](Session& session, rig::Draw& draw) {
    for (Step& step : session.steps) recordings::change_gain(step, 0, 30 * draw.normal());
  });
  CHECK((few_sessions() || delays < 1.35));
}

TEST_CASE("A recording outside the fit is evaluated with the gain that its own levels show") {
  Bench b = bench(11);
  for (std::size_t i = 0; i < 5; ++i) recordings::change_gain(b.session.steps[i], i % 2 == 0 ? 0.4 : -0.4, 0);
  rig::Draw draw(11);
  const rig::Rig r = rig::random_rig(draw);
  for (const double db : {0.0, 1.5}) {
    Step verify = rig::step(r, 0.7, 0.7, 1e-5, draw, 9);
    recordings::change_gain(verify, db, 0);
    verify.log.use = StepUse::kVerify;
    Session session = b.session;
    session.steps.push_back(verify);
    const Solution s = solve(session, {});
    REQUIRE(s.verification.size() == 1);
    CHECK(s.verification[0].agrees);
    const auto listed = std::find_if(s.steps.begin(), s.steps.end(), [](const SolvedStep& step) { return !step.used; });
    REQUIRE(listed != s.steps.end());
    CHECK_THAT(listed->tilt_from_signal_deg, WithinAbs(0.7, 0.05));
  }
}

TEST_CASE("A verifying recording with different wiring is corrected and named, and one at another tilt is not") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    INFO("seed " << seed);
    Bench b = bench(seed);
    rig::Draw draw(seed);
    const rig::Rig r = rig::random_rig(draw);
    for (const char* what : {"as it is", "swapped", "reversed", "another tilt"}) {
      INFO(what);
      Step verify = rig::step(r, what == std::string("another tilt") ? -0.9 : 0.7, 0.7, 1e-4, draw, 9);
      verify.log.use = StepUse::kVerify;
      if (what == std::string("swapped")) swap_channels_of(verify);
      if (what == std::string("reversed")) recordings::reverse(verify);
      Session session = b.session;
      session.steps.push_back(verify);
      const Solution s = solve(session, {});
      const auto listed = std::find_if(s.steps.begin(), s.steps.end(), [](const SolvedStep& step) { return !step.used; });
      REQUIRE(listed != s.steps.end());
      REQUIRE(s.verification.size() == 1);
      // A small shear does not show a reversal, and a small balance does not show a swap: those rigs are skipped.
      const bool shows_reversal = std::abs(r.delta_left_deg - r.delta_right_deg) > 0.3;
      const double balance_db = 20 * std::log10(std::abs(r.gain_left));
      const bool shows_swap = std::abs(balance_db) > 0.5;
      if (what == std::string("reversed") && !shows_reversal) continue;
      if (what == std::string("swapped") && !shows_swap) continue;
      CHECK(says(s.warnings, WarningCode::kSwappedOrReversed) == (what == std::string("swapped")));
      CHECK(says(s.warnings, WarningCode::kPolarityReversed) == (what == std::string("reversed")));
      const bool elsewhere = what == std::string("another tilt");
      CHECK_THAT(listed->tilt_from_signal_deg, WithinAbs(elsewhere ? -0.9 : 0.7, 0.1));
      if (!elsewhere) CHECK(std::abs(listed->right_into_left_db - s.verification[0].predicted_right_into_left_db) < 6);
    }
  }
}
