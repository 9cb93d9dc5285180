// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_structures.hpp"

#include "evenwall/solve.hpp"
#include "solve/criteria.hpp"
#include "support/catch.hpp"
#include "support/gauge_example.hpp"

using namespace gauge_example;

namespace {

constexpr double kReturning[] = {-3, -1, 1, 3, 2, 0, -2};

/// A session with true tilts that are the logged ones plus `errors`, in the order of capture.
Session session_with(const std::vector<double>& logged, const std::vector<double>& errors, std::uint64_t seed,
                     OptionalNumber gauge_u = {}) {
  rig::Draw draw(seed);
  const rig::Rig r = rig::random_rig(draw);
  Session session;
  session.facts.gauge_u_deg = gauge_u;
  for (std::size_t i = 0; i < logged.size(); ++i) {
    session.steps.push_back(rig::step(r, logged[i] + errors[i], logged[i], 1e-4, draw, static_cast<int>(i)));
  }
  return session;
}

double probability(const Session& session, GaugeStructure structure) { return fit_jointly(session, {}).tilt.probability_of(structure); }

}  // namespace

TEST_CASE("Drift and backlash are found from the order of capture, without columns of their own in the log") {
  const std::vector<double> logged(std::begin(kReturning), std::end(kReturning));
  std::vector<double> drifting, slack;
  for (std::size_t i = 0; i < logged.size(); ++i) {
    drifting.push_back(0.15 * static_cast<double>(i) / 6);
    slack.push_back(i < 4 ? 0.1 : -0.1);
  }
  for (const OptionalNumber gauge_u : {OptionalNumber(0.01), OptionalNumber()}) {
    const Session drifts = session_with(logged, drifting, 3, gauge_u), slips = session_with(logged, slack, 4, gauge_u);
    CHECK(probability(drifts, GaugeStructure::kDrift) > 0.9);
    CHECK(says(solve(drifts, {}).warnings, WarningCode::kDrift));
    // If the gauge is not stated, seven settings give weaker evidence.
    CHECK(probability(slips, GaugeStructure::kBacklash) > (gauge_u ? 0.9 : 0.7));
    if (gauge_u) CHECK(says(solve(slips, {}).warnings, WarningCode::kBacklash));
  }
}

TEST_CASE("Independent scatter of the settings is not taken for drift, backlash, adding errors or exchanged rows") {
  int named = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    rig::Draw draw(seed + 500);
    std::vector<double> logged{-3, -1, 1, 3, 2, 0, -2}, errors;
    for (std::size_t i = 0; i < logged.size(); ++i) errors.push_back(0.05 * draw.normal());
    const Warnings warnings =
        solve(session_with(logged, errors, seed, seed % 2 == 0 ? OptionalNumber(0.05) : OptionalNumber()), {}).warnings;
    for (const WarningCode code : {WarningCode::kDrift, WarningCode::kBacklash, WarningCode::kErrorsAddUp, WarningCode::kRowsExchanged}) {
      named += says(warnings, code) ? 1 : 0;
    }
  }
  // A structure is named from a probability of 0.9 on, so at most one in ten of those named is wrong: one of sixty sessions is chance.
  CHECK(named <= 1);
}

TEST_CASE("Two exchanged rows are found, even if they reverse the slope, and the answer is as without the exchange") {
  for (const bool ends : {false, true}) {
    std::vector<double> logged{-2, -1, 0, 1, 2};
    const std::vector<double> none(5, 0.0);
    const Solution right = solve(session_with(logged, none, 9, 0.02), {});
    std::vector<double> errors(5, 0.0);
    const std::size_t i = ends ? 0 : 1, k = ends ? 4 : 3;
    errors[i] = logged[k] - logged[i];
    errors[k] = logged[i] - logged[k];
    const Solution wrong = solve(session_with(logged, errors, 9, 0.02), {});
    INFO("the two end rows are exchanged: " << ends);
    CHECK(says(wrong.warnings, WarningCode::kRowsExchanged));
    CHECK_FALSE(says(wrong.warnings, WarningCode::kSwappedOrReversed));
    for (const SolvedStep& step : wrong.steps) {
      const bool off = std::find(step.flags.begin(), step.flags.end(), StepFlag::kStepOff) != step.flags.end();
      CHECK(off == (step.tilt_deg == logged[i] || step.tilt_deg == logged[k]));
    }
    CHECK_THAT(wrong.least_crosstalk.tilt_deg, WithinAbs(right.least_crosstalk.tilt_deg, 0.3 * right.least_crosstalk.u_deg));
    CHECK_THAT(wrong.least_crosstalk.u_deg, WithinRel(right.least_crosstalk.u_deg, 0.2));
  }
}

TEST_CASE("The magnitude of a random walk is computed from its residuals about a straight line") {
  // By hand: five equal moves leave (0.4 + 0.3 + 0.3 + 0.4)/3 of a move's variance (docs/method.md).
  rig::Draw draw(2);
  const Session session = session_with({-2, -1, 0, 1, 2}, {0, 0, 0, 0, 0}, 2);
  const JointFit joint = fit_jointly(session, {});
  const GaugeProblem problem(joint.observations.fitted, joint.signal, joint.gauge);
  CHECK_THAT(moves_left(problem), WithinAbs(1.4 / 3, 1e-12));
}

TEST_CASE("Repeats of a setting share its error, so that they do not narrow the interval") {
  double u2 = 0, once2 = 0;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    rig::Draw draw(seed);
    std::vector<double> logged, errors, single, single_errors;
    for (const double setting : {-2.0, -1.0, 0.0, 1.0, 2.0}) {
      const double off = 0.05 * draw.normal();
      single.push_back(setting);
      single_errors.push_back(off);
      for (int i = 0; i < 3; ++i) {
        logged.push_back(setting);
        errors.push_back(off + 0.005 * draw.normal());
      }
    }
    u2 += std::pow(solve(session_with(logged, errors, seed, 0.05), {}).least_crosstalk.u_deg, 2);
    once2 += std::pow(solve(session_with(single, single_errors, seed, 0.05), {}).least_crosstalk.u_deg, 2);
  }
  CHECK_THAT(std::sqrt(u2 / once2), WithinAbs(1, 0.05));
}

TEST_CASE("The number to set on the gauge does not depend on the scale of the gauge") {
  // The answer lies 1.5° beyond the captured tilts, and one degree of the gauge is 0.95° of tilt: the number to set is known better than
  // the degrees.
  rig::Draw draw(12);
  rig::Rig r = rig::random_rig(draw);
  const double least = rig::least_truth_deg(r);
  Session session;
  session.facts.gauge_u_deg = 0.002;
  for (int i = 0; i < 4; ++i) {
    const double true_deg = least + 1.5 + i;
    session.steps.push_back(rig::step(r, true_deg, true_deg / 0.95, 1e-5, draw, i));
  }
  const Solution s = solve(session, {});
  const JointFit joint = fit_jointly(session, {});
  const auto setting = criterion_setting(CriterionKind::kLeast, joint.tilt);
  REQUIRE(setting);
  CHECK_THAT(setting->setting, WithinAbs(least / 0.95, 3 * setting->u));
  CHECK(setting->u < 0.02);
  REQUIRE(s.recommended.interval95_units);
  CHECK((*s.recommended.interval95_units)[0] < *s.recommended.tilt_units);
  CHECK(*s.recommended.tilt_units < (*s.recommended.interval95_units)[1]);
}
