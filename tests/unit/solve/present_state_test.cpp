// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/present_state.hpp"

#include "evenwall/error.hpp"
#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/recommended_truth.hpp"
#include "support/solve_session.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

/// True tilt at which the recommended criterion is met, by brute force.
double truth_deg(const rig::Rig& r, const Solution& s) {
  if (s.recommended.basis == Basis::kLeastCrosstalk) return rig::least_truth_deg(r);
  double nearest = HUGE_VAL;
  for (const double root : rig::equal_truths_deg(r)) {
    if (std::abs(root - *s.equal_crosstalk.tilt_deg) < std::abs(nearest - *s.equal_crosstalk.tilt_deg)) nearest = root;
  }
  return recommended_truth_deg(s.recommended, rig::least_truth_deg(r), nearest);
}

/// A session whose gauge is off by 0.3° at each setting, with the true tilt of each step.
struct Rough {
  Session session;
  std::vector<double> true_deg;
};

Rough rough_session(const rig::Rig& r, std::size_t steps, double u, rig::Draw& draw) {
  Rough rough;
  for (std::size_t i = 0; i < steps; ++i) {
    const double logged = std::round(draw.uniform(-3, 3) * 4) / 4;
    rough.true_deg.push_back(logged + 0.3 * draw.normal());
    rough.session.steps.push_back(rig::step(r, rough.true_deg.back(), logged, u, draw, static_cast<int>(i) + 1));
  }
  return rough;
}

}  // namespace

TEST_CASE("The turn from the last recording holds the truth in about 95 % of the sessions, however wrong the gauge is") {
  rig::Draw draw(401);
  int sessions = 0, held = 0;
  double squares = 0;
  for (int i = 0; i < drawn(300); ++i) {
    const rig::Rig r = rig::random_rig(draw);
    const Rough rough = rough_session(r, 3 + static_cast<std::size_t>(i % 4), 2e-4, draw);
    Solution s;
    try {
      s = solve(rough.session, {});
    } catch (const Error&) {
      continue;  // three rough settings may bound no azimuth
    }
    if (!s.now) continue;
    ++sessions;
    CHECK(s.now->from == TurnFrom::kLast);
    const double truth = truth_deg(r, s) - rough.true_deg.back();
    held += s.now->interval95_deg[0] <= truth && truth <= s.now->interval95_deg[1] ? 1 : 0;
    squares += std::pow(s.now->turn_deg - truth, 2);
  }
  if (few_sessions()) return;
  INFO("of " << sessions << " held " << held << ", rms " << std::sqrt(squares / sessions));
  CHECK(sessions > 250);
  CHECK(held >= 0.92 * sessions);
  CHECK(held <= 0.99 * sessions);
  CHECK(std::sqrt(squares / sessions) < 0.03);  // a tenth of the gauge's error
}

TEST_CASE("The turn from a verifying recording holds the truth in about 95 % of the sessions, and is as sharp as the crosstalk") {
  rig::Draw draw(402);
  int sessions = 0, held = 0;
  for (int i = 0; i < drawn(200); ++i) {
    const rig::Rig r = rig::random_rig(draw);
    Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-4, draw, 0.1);
    const double at = draw.uniform(-1.5, 1.5);
    Step verify = rig::step(r, at, at + 0.1 * draw.normal(), 1e-4, draw, 6);
    verify.log.use = StepUse::kVerify;
    session.steps.push_back(verify);
    const Solution s = solve(session, {});
    REQUIRE(s.now);
    CHECK(s.now->from == TurnFrom::kVerify);
    CHECK(s.now->capture == "step-6");
    const double truth = truth_deg(r, s) - at;
    ++sessions;
    held += s.now->interval95_deg[0] <= truth && truth <= s.now->interval95_deg[1] ? 1 : 0;
  }
  if (few_sessions()) return;
  CHECK(held >= 0.91 * sessions);
  CHECK(held <= 0.99 * sessions);
}

TEST_CASE("The present state is the last by sequence or row, and recordings that are not used do not count") {
  rig::Draw draw(403);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, 1, -1, 2, 0}, 1e-5, draw, 0.02);
  CHECK(solve(session, {}).now->capture == "step-5");
  session.steps[4].log.use = StepUse::kNo;
  CHECK(solve(session, {}).now->capture == "step-4");
  session.steps[3].log.use = StepUse::kAsFound;
  CHECK(solve(session, {}).now->capture == "step-3");
  for (Step& step : session.steps) step.log.use = StepUse::kYes;
  for (std::size_t i = 0; i < 5; ++i) session.steps[i].log.sequence = static_cast<double>((i + 3) % 5);
  CHECK(solve(session, {}).now->capture == "step-2");
  session.steps[1].log.use = StepUse::kVerify;
  CHECK(solve(session, {}).now->from == TurnFrom::kVerify);
  session.steps[0].log.use = StepUse::kVerify;  // not the last by sequence
  CHECK(solve(session, {}).now->capture == "step-2");
}

TEST_CASE("The turn and its direction agree with the answer, and a stated azimuth replaces the recording") {
  rig::Draw draw(404);
  const rig::Rig r = rig::random_rig(draw);
  const Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-6, draw, 0.0001);
  const Solution s = solve(session, {});
  CHECK_THAT(s.now->turn_deg, WithinAbs(s.recommended.tilt_deg - 2, 1e-3));
  CHECK(s.now->direction == TurnDirection::kAnticlockwise);
  CHECK(s.now->place_shim_at == Side::kSpindleSide);
  CHECK_THAT(*s.now->height_mm, WithinAbs(12.7 * std::tan(std::abs(s.now->turn_deg) * 3.14159265358979 / 180), 1e-9));
  SolveOptions options;
  options.from_tilt_deg = s.recommended.tilt_deg + 0.001;
  const Solution stated = solve(session, options);
  CHECK(stated.now->from == TurnFrom::kStated);
  CHECK_FALSE(stated.now->capture);
  CHECK(stated.now->direction == TurnDirection::kNone);
  CHECK_THAT(stated.now->turn_deg, WithinAbs(-0.001, 5e-4));
  CHECK_THAT(stated.now->u_deg, WithinRel(stated.recommended.u_deg, 1e-12));
}

TEST_CASE("For a log in user units the turn is also given in these units, and the number to set is that of the ruler") {
  rig::Draw draw(405);
  const rig::Rig r = rig::random_rig(draw);
  Session session;
  int index = 0;
  for (const double turns : {-3.0, -1.0, 1.0, 3.0}) {
    Step step = rig::step(r, -0.7 * turns, 0, 1e-6, draw, ++index);
    step.log.tilt_deg.reset();
    step.log.tilt_units = turns;
    session.steps.push_back(step);
  }
  const Solution s = solve(session, {});
  REQUIRE(s.now->turn_units);
  CHECK_THAT(*s.now->turn_units, WithinAbs((truth_deg(r, s) + 0.7 * 3) / -0.7, 0.02));
  CHECK(*s.now->u_turn_units > s.now->u_deg / 0.7 - 1e-12);
  REQUIRE(s.set_to->tilt_units);
  CHECK_THAT(*s.set_to->tilt_units, WithinAbs(truth_deg(r, s) / -0.7, 0.02));
  CHECK_THAT(s.set_to->tilt_deg, WithinRel(s.recommended.tilt_deg, 1e-12));
  REQUIRE(s.steps.front().logged);
  CHECK(*s.steps.front().logged == -3.0);
  CHECK_FALSE(s.now->direction);  // without `bands` the sense of the log is undecided
}

TEST_CASE("On a gauge whose degree is not a degree, the number to set is not the true azimuth") {
  rig::Draw draw(406);
  rig::Rig r = rig::random_rig(draw);
  Session session;
  int index = 0;
  for (const double logged : {-2.0, -1.0, 0.0, 1.0, 2.0, 3.0})
    session.steps.push_back(rig::step(r, 0.93 * logged, logged, 1e-6, draw, ++index));
  session.facts.gauge_u_deg = 0.001;
  const Solution s = solve(session, {});
  CHECK_THAT(s.recommended.tilt_deg, WithinAbs(truth_deg(r, s), 0.01));
  CHECK_THAT(s.set_to->tilt_deg, WithinAbs(truth_deg(r, s) / 0.93, 0.01));
  CHECK_FALSE(s.set_to->tilt_units);
  SolveOptions options;
  options.from_tilt_deg = 1.0;  // read on the same gauge
  CHECK_THAT(solve(session, options).now->turn_deg, WithinAbs(truth_deg(r, s) - 0.93, 0.01));
  CHECK_THAT(solve(session, options).shim.move_deg, WithinAbs(truth_deg(r, s) - 0.93, 0.01));
}

TEST_CASE("A gain or delay that changes only at the verifying recording does not move the turn, and is reported") {
  rig::Draw draw(407);
  int held = 0, sessions = 0, reported = 0;
  for (int i = 0; i < drawn(60); ++i) {
    const rig::Rig r = rig::random_rig(draw);
    Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-4, draw, 0.1);
    rig::Rig changed = r;
    changed.gain_left *= std::polar(std::pow(10.0, draw.uniform(-3, 3) / 20), i % 2 == 0 ? 0.0 : draw.uniform(-0.6, 0.6));
    const double at = draw.uniform(-1.5, 1.5);
    Step verify = rig::step(changed, at, at, 1e-4, draw, 6);
    verify.log.use = StepUse::kVerify;
    session.steps.push_back(verify);
    const Solution s = solve(session, {});
    REQUIRE(s.now);
    ++sessions;
    const double truth = truth_deg(r, s) - at;
    held += s.now->interval95_deg[0] <= truth && truth <= s.now->interval95_deg[1] ? 1 : 0;
    reported += says(s.warnings, WarningCode::kRecordingsDiffer) ? 1 : 0;
    CHECK(std::abs(s.now->turn_deg - truth) < 0.1);
  }
  if (few_sessions()) return;
  INFO(held << " held and " << reported << " reported of " << sessions);
  CHECK(held >= 0.88 * sessions);
  CHECK(reported >= 0.8 * sessions);
}

TEST_CASE("The turn by a meter's readings holds the truth in about 95 % of the sessions") {
  rig::Draw draw(408);
  int held = 0, sessions = 0;
  for (int i = 0; i < drawn(150); ++i) {
    const rig::Rig r = rig::random_rig(draw);
    // The gauge is off by 0.05° at each setting and its uncertainty is not stated; the readings are at -2° to 2°.
    Session session = metered(r, 5, 2, 0, 0.1, true, draw);
    const double last = 2;
    session.facts.gauge_u_deg.reset();
    for (Step& step : session.steps) *step.log.tilt_deg += 0.05 * draw.normal();
    Solution s;
    try {
      s = solve(session, {});
    } catch (const Error&) {
      continue;
    }
    if (!s.now) continue;
    ++sessions;
    const double truth = truth_deg(r, s) - last;
    held += s.now->interval95_deg[0] <= truth && truth <= s.now->interval95_deg[1] ? 1 : 0;
  }
  if (few_sessions()) return;
  INFO(held << " of " << sessions);
  CHECK(sessions > 100);
  CHECK(held >= 0.9 * sessions);  // 82 % without the uncertainty of the response
}
