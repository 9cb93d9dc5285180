// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/audit.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

TEST_CASE("A wrongly logged step is flagged with its tilt from the signal, and the answer remains correct") {
  rig::Draw draw(31);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2.5, -1.5, -0.5, 0.5, 1.5, 2.5}, 1e-4, draw, 0.02);
  session.steps[3].log.tilt_deg = 1.1;  // played at 0.5
  const Solution s = solve(session, {});
  int flagged = 0;
  for (const SolvedStep& step : s.steps) {
    if (step.flags.empty()) continue;
    ++flagged;
    CHECK(step.tilt_deg == 1.1);
    CHECK_THAT(step.tilt_from_signal_deg, WithinAbs(0.5, 0.05));
    CHECK_THAT(step.audit_deg.value(), WithinAbs(-0.6, 0.05));
  }
  CHECK(flagged == 1);
  CHECK(says(s.warnings, WarningCode::kStepOff));
  CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(r), 0.03));
}

TEST_CASE("A warning reports that three steps contradict each other") {
  rig::Draw draw(32);
  Session session = session_of(rig::random_rig(draw), {-2, 0, 2}, 1e-5, draw, 0.01);
  session.steps[1].log.tilt_deg = 0.15;
  const Solution s = solve(session, {});
  CHECK(says(s.warnings, WarningCode::kStepsContradict));
}

TEST_CASE("A verifying recording agrees at its logged tilt, and it disagrees if its true tilt was different") {
  rig::Draw draw(33);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.01);
  Step verify = rig::step(r, 0.6, 0.6, 1e-5, draw, 7);
  verify.log.use = StepUse::kVerify;
  session.steps.push_back(verify);
  Solution s = solve(session, {});
  REQUIRE(s.verification.size() == 1);
  CHECK(s.verification[0].agrees);
  CHECK(std::count_if(s.steps.begin(), s.steps.end(), [](const SolvedStep& step) { return step.used; }) == 5);
  session.steps.back() = rig::step(r, 1.4, 0.6, 1e-5, draw, 7);
  session.steps.back().log.use = StepUse::kVerify;
  s = solve(session, {});
  CHECK_FALSE(s.verification[0].agrees);
}

TEST_CASE("The uncertainty that a verifying step states of its setting counts in its intervals and in its correction") {
  rig::Draw draw(33);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.01);
  Step verify = rig::step(r, 1.4, 0.6, 1e-5, draw, 7);  // 0.8° from its logged tilt
  verify.log.use = StepUse::kVerify;
  const auto with_own_u = [&](OptionalNumber tilt_u) {
    verify.log.tilt_u = tilt_u;
    Session all = session;
    all.steps.push_back(verify);
    const Solution s = solve(all, {});
    const auto outside = std::find_if(s.steps.begin(), s.steps.end(), [](const SolvedStep& step) { return !step.used; });
    REQUIRE(outside != s.steps.end());
    return std::pair(s.verification.at(0).agrees, outside->u_audit_deg);
  };
  CHECK_FALSE(with_own_u(std::nullopt).first);
  CHECK(with_own_u(std::nullopt).second < 0.05);
  CHECK(with_own_u(0.5).first);
  CHECK_THAT(with_own_u(0.5).second, WithinRel(0.5, 0.01));  // its own uncertainty dominates: the gauge has 0.01°
}

TEST_CASE("The as-found state of the cartridge is reported and not fitted") {
  rig::Draw draw(34);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.0);
  const Solution without = solve(session, {});
  Step found = rig::step(r, -3, 0.0, 1e-5, draw, 8);
  found.log.use = StepUse::kAsFound;
  session.steps.push_back(found);
  const Solution with = solve(session, {});
  REQUIRE(with.as_found);
  CHECK_THAT(with.as_found->right_into_left_db, WithinAbs(decibels(std::abs(rig::leak_rl(r, -3))), 0.02));
  CHECK(with.recommended.tilt_deg == without.recommended.tilt_deg);
}

TEST_CASE("A verifying recording is predicted at its true tilt, even if the scale of the gauge is wrong") {
  rig::Draw draw(35);
  const rig::Rig r = rig::random_rig(draw);
  Session session;
  session.facts.gauge_u_deg = 0.001;
  for (const double logged : {-2.0, -1.0, 0.0, 1.0, 2.0, 1.8}) {
    Step step = rig::step(r, 0.95 * logged, logged, 1e-5, draw, static_cast<int>(session.steps.size()));
    if (logged == 1.8) step.log.use = StepUse::kVerify;
    session.steps.push_back(std::move(step));
  }
  CHECK(solve(session, {}).verification.at(0).agrees);
}

TEST_CASE("The distortion of a step is reported by channel of the cartridge, even if the leads were swapped") {
  rig::Draw draw(35);
  Session session = session_of(rig::random_rig(draw), {-2, -1, 0, 1, 2}, 1e-5, draw, 0.01);
  for (Step& step : session.steps) {
    for (Passage& p : measurement_of(step).passages) p.distortion_percent = p.driven == Driven::kLeft ? 0.5 : 1.5;
  }
  swap_channels_of(session.steps[1]);
  session.steps[1].log.leads_swapped = true;
  session.steps[4].log.use = StepUse::kVerify;
  for (Passage& p : measurement_of(session.steps[2]).passages) p.distortion_percent.reset();
  const Solution s = solve(session, {});
  REQUIRE(s.steps.size() == 5);
  CHECK_FALSE(s.steps[0].audio_sha256);
  for (const SolvedStep& step : s.steps) {
    const bool known = step.capture != session.steps[2].log.capture;
    CHECK(step.distortion_left_percent == (known ? OptionalNumber(0.5) : std::nullopt));
    CHECK(step.distortion_right_percent == (known ? OptionalNumber(1.5) : std::nullopt));
  }
}

TEST_CASE("The SHA-256 of each recording goes to its step and to the state as found") {
  rig::Draw draw(38);
  Session session = session_of(rig::random_rig(draw), {-2, -1, 0, 1, 2}, 1e-5, draw, 0.01);
  for (std::size_t i = 0; i < 4; ++i) measurement_of(session.steps[i]).audio.sha256 = session.steps[i].log.capture + " hash";
  session.steps[1].log.use = StepUse::kVerify;
  session.steps[3].log.use = StepUse::kAsFound;
  const Solution s = solve(session, {});
  REQUIRE(s.steps.size() == 5);
  for (const SolvedStep& step : s.steps) {
    const bool known = step.capture != session.steps[4].log.capture;
    CHECK(step.audio_sha256 == (known ? std::optional(step.capture + " hash") : std::nullopt));
  }
  REQUIRE(s.as_found);
  CHECK(s.as_found->audio_sha256 == session.steps[3].log.capture + " hash");
}

TEST_CASE("At the frequency of the answer, crosstalk by frequency equals the crosstalk of the answer") {
  rig::Draw draw(36);
  const Solution s = solve(session_of(rig::random_rig(draw), {-2, -1, 0, 1, 2}, 1e-5, draw, 0.01), {});
  REQUIRE(s.by_frequency.size() == 1);
  CHECK_THAT(*s.by_frequency[0].right_into_left_db, WithinAbs(s.recommended.right_into_left_db, 1e-9));  // both come from one fit
  CHECK_THAT(*s.by_frequency[0].left_into_right_db, WithinAbs(s.recommended.left_into_right_db, 1e-9));
}

TEST_CASE("If the steps measure slightly different frequencies of a tone, these count as one frequency") {
  rig::Draw draw(37);
  Session session = session_of(rig::random_rig(draw), {-2, -1, 0, 1, 2}, 1e-5, draw, 0.01);
  double frequency_hz = 998;
  for (Step& step : session.steps) {
    measurement_of(step).crosstalk.frequency_hz = frequency_hz;
    for (LeakPair& pair : measurement_of(step).crosstalk_spectrum) pair.frequency_hz = frequency_hz;
    for (Passage& p : measurement_of(step).passages) p.frequency_hz = frequency_hz;
    frequency_hz += 0.3;
  }
  const Solution s = solve(session, {});
  REQUIRE(s.by_frequency.size() == 1);
  CHECK(s.by_frequency[0].frequency_hz == s.frequency_hz);
  CHECK(s.by_frequency[0].equal_crosstalk_deg == s.equal_crosstalk.tilt_deg);
}

TEST_CASE("If the fit does not determine the size of a unit, steps in this unit are not verified, and a warning reports this") {
  rig::Draw draw(36);
  const rig::Rig r = rig::random_rig(draw);
  const auto with_verify = [&](std::vector<double> fitted, bool in_degrees) {
    Session session = session_of(r, fitted, 1e-5, draw, 0.0);
    for (Step& step : session.steps) {
      if (!in_degrees) std::swap(step.log.tilt_deg, step.log.tilt_units);
      step.log.tilt_u = 0.3;
    }
    Step verify = rig::step(r, 1.25, 0, 1e-5, draw, 7);
    verify.log.tilt_deg.reset();
    verify.log.tilt_units = 5;
    verify.log.use = StepUse::kVerify;
    session.steps.push_back(verify);
    return solve(session, {});
  };
  const Solution degrees_fitted = with_verify({-2, -1, 0, 1, 2}, true);
  CHECK(degrees_fitted.verification.empty());
  CHECK(degrees_fitted.steps.size() == 5);
  CHECK(says(degrees_fitted.warnings, WarningCode::kNotVerified));
  const Solution one_setting = with_verify({3}, false);
  CHECK(one_setting.verification.empty());
  CHECK(one_setting.steps.size() == 1);
  CHECK(says(one_setting.warnings, WarningCode::kNotVerified));
  // A move from a capture does not depend on a setting, so it does not contain a setting's uncertainty.
  Session plain = session_of(r, {3}, 1e-5, draw, 0.0);
  std::swap(plain.steps[0].log.tilt_deg, plain.steps[0].log.tilt_units);
  const double without_deg = solve(plain, {}).least_crosstalk.u_deg;
  plain.steps[0].log.tilt_u = 0.3;
  CHECK(solve(plain, {}).least_crosstalk.u_deg == without_deg);
  const Solution units_fitted = with_verify({-2, -1, 0, 1, 2}, false);
  CHECK(units_fitted.verification.size() == 1);
  CHECK_FALSE(says(units_fitted.warnings, WarningCode::kNotVerified));
}

TEST_CASE("A verification far from the fitted steps contains the uncertainty of the gauge's scale, and rarely fails without reason") {
  rig::Draw draw(431);
  int failed = 0;
  constexpr int kSessions = 200;
  for (int i = 0; i < kSessions; ++i) {
    const rig::Rig r = rig::random_rig(draw);
    Session session;
    session.facts.gauge_u_deg = 0.02;
    const double scale = 1 + 0.02 * draw.normal();
    int index = 0;
    const auto add = [&](double logged) {
      session.steps.push_back(rig::step(r, scale * logged + 0.02 * draw.normal(), logged, 1e-5, draw, ++index));
    };
    for (const double logged : {-1.0, 0.0, 1.0, 3.0}) add(logged);
    session.steps.back().log.use = StepUse::kVerify;
    failed += solve(session, {}).verification.at(0).agrees ? 0 : 1;
  }
  INFO(failed << " of " << kSessions);
  CHECK(failed <= 20);  // two levels of 95 % each, which mostly agree or fail together
}
