// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/verdict.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

Step verifying(const rig::Rig& r, double true_deg, double logged_deg, rig::Draw& draw) {
  Step step = rig::step(r, true_deg, logged_deg, 1e-5, draw, 9);
  step.log.use = StepUse::kVerify;
  return step;
}

}  // namespace

TEST_CASE("The verdict goes from turn to enough when the cartridge is set, and to check when it is set elsewhere than logged") {
  rig::Draw draw(411);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.02);
  Solution s = solve(session, {});
  REQUIRE(s.verdict);
  CHECK(s.verdict->state == VerdictState::kTurn);
  CHECK(s.verdict->tolerance_deg == 0.05);
  const double target = s.recommended.tilt_deg;
  session.steps.push_back(verifying(r, target + 0.01, target, draw));
  s = solve(session, {});
  CHECK(s.verdict->state == VerdictState::kEnough);
  CHECK(holds(s.verdict->text, "set and verified"));
  CHECK_FALSE(says(s.warnings, WarningCode::kVerificationFailed));

  session.steps.back() = verifying(r, target + 0.8, target, draw);
  s = solve(session, {});
  CHECK(s.verdict->state == VerdictState::kCheck);
  CHECK(says(s.warnings, WarningCode::kVerificationFailed));
  CHECK_THAT(s.now->turn_deg, WithinAbs(-0.8, 0.05));
  CHECK(holds(s.verdict->text, "step-9"));

  // A second verification takes the place of the first one.
  session.steps.back().log.capture = "first-try";
  session.steps.push_back(verifying(r, target, target, draw));
  s = solve(session, {});
  CHECK(s.verdict->state == VerdictState::kEnough);
  CHECK_FALSE(s.next_step);
  CHECK_FALSE(says(s.warnings, WarningCode::kVerificationFailed));

  // The turn from a later recording is not that of a verification which failed.
  session.steps.back() = verifying(r, target + 0.8, target, draw);
  Step later = rig::step(r, -1.2, -1.2, 1e-5, draw, 12);
  session.steps.push_back(later);
  s = solve(session, {});
  CHECK(s.verdict->state == VerdictState::kCheck);
  CHECK_FALSE(holds(s.verdict->text, "The turn that remains"));
}

TEST_CASE("A verification within the prediction but away from the optimum leaves a turn") {
  rig::Draw draw(412);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.02);
  const double target = solve(session, {}).recommended.tilt_deg;
  session.steps.push_back(verifying(r, target - 0.4, target - 0.4, draw));
  const Solution s = solve(session, {});
  CHECK(s.verification.at(0).agrees);
  CHECK(s.verdict->state == VerdictState::kTurn);
  CHECK_THAT(s.now->turn_deg, WithinAbs(0.4, 0.02));
}

TEST_CASE("The tolerance decides between enough and turn") {
  rig::Draw draw(413);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.02);
  const double target = solve(session, {}).recommended.tilt_deg;
  session.steps.push_back(verifying(r, target + 0.2, target + 0.2, draw));
  SolveOptions options;
  CHECK(solve(session, options).verdict->state == VerdictState::kTurn);
  options.tolerance_deg = 0.3;
  CHECK(solve(session, options).verdict->state == VerdictState::kEnough);
}

TEST_CASE("If the crosstalk does not bound the turn, the verdict asks for one more tilt and says which") {
  rig::Draw draw(414);
  const rig::Rig r = rig::random_rig(draw);
  const Session session = session_of(r, {-0.2, 0.2}, 3e-3, draw, 0.02);
  const Solution s = solve(session, {});
  CHECK(s.verdict->state == VerdictState::kCaptureMore);
  REQUIRE(s.next_step);
  CHECK(holds(s.verdict->text, "the turn is not known to 0.05°. Capture one more tilt: one more recording at"));
  CHECK(s.verdict->text.ends_with("."));
}

TEST_CASE("If a recording seems to hold several settings, the verdict asks to split it before more is recorded") {
  rig::Draw draw(414);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-0.2, 0.2}, 3e-3, draw, 0.02);
  session.warnings.push_back({WarningCode::kSeveralSettings, "x"});
  Solution s = solve(session, {});
  CHECK(s.verdict->state == VerdictState::kCaptureMore);
  CHECK(s.next_step);
  CHECK(holds(s.verdict->text, "a recording seems to hold several settings"));
  CHECK(holds(s.verdict->text, "measure --split prints these rows."));
  s.steps.resize(1);
  s.steps[0].capture = "evening.wav";
  CHECK(holds(capture_more_text(s), "evening.wav seems to hold several settings"));
}

TEST_CASE("A step that is named as wrong asks for a check until the cartridge is set") {
  rig::Draw draw(31);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2.5, -1.5, -0.5, 0.5, 1.5, 2.5}, 1e-4, draw, 0.02);
  session.steps[3].log.tilt_deg = 1.1;  // played at 0.5
  Solution s = solve(session, {});
  CHECK(s.verdict->state == VerdictState::kCheck);
  CHECK(holds(s.verdict->text, "step-4"));
  session.steps.push_back(verifying(r, s.recommended.tilt_deg, s.recommended.tilt_deg, draw));
  s = solve(session, {});
  CHECK(s.verdict->state == VerdictState::kEnough);
  CHECK(holds(s.verdict->text, "step-4"));
}

TEST_CASE("Each corrected effect is listed with the recordings that it concerns") {
  rig::Draw draw(416);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.02);
  CHECK(solve(session, {}).corrections.empty());
  swap_channels_of(session.steps[1]);
  Solution s = solve(session, {});
  REQUIRE(s.corrections.size() == 1);
  CHECK(s.corrections[0].what == CorrectedCause::kChannelsSwapped);
  CHECK(s.corrections[0].applies_to == std::vector<std::string>{"step-2"});
  SolveOptions options;
  options.record_correction = RecordCorrection{"survey.json", "Even Furrow A", 0.2, 0.01};
  s = solve(session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.02), options);
  REQUIRE(s.corrections.size() == 1);
  CHECK(s.corrections[0].what == CorrectedCause::kRecord);
  CHECK(s.corrections[0].from == "survey.json");
  CHECK(s.corrections[0].applies_to.size() == 5);
}

TEST_CASE("If `bands` contradicts the log in two ways that one wrong order explains, the verdict asks for a check") {
  rig::Draw draw(417);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.02);
  session.facts.bands = {Band::kLeft, Band::kRight, Band::kLateral};
  CHECK(solve(session, {}).verdict->state == VerdictState::kTurn);
  session.facts.bands = {Band::kRight, Band::kLeft, Band::kLateral};
  const Solution s = solve(session, {});
  CHECK(s.tilt_response.sense == Sense::kReversed);
  CHECK(s.verdict->state == VerdictState::kCheck);
  CHECK(holds(s.verdict->text, "Check `bands`."));
}

TEST_CASE("If what all recordings share makes the interval too wide, the verdict does not ask for more recordings") {
  rig::Draw draw(417);
  const rig::Rig r = rig::random_rig(draw);
  const Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.02);
  SolveOptions options;
  options.record_u_deg = 0.46;
  const Solution s = solve(session, options);
  CHECK(s.verdict->state == VerdictState::kCaptureMore);
  CHECK(holds(s.verdict->text, "further recordings in this session would not change that"));
  CHECK(holds(s.verdict->text, "at least 0.90°. The largest part is the term \"record\" (u 0.460°)."));
  REQUIRE(s.next_step);
  CHECK(s.next_step->u_deg_after > 0.459);
  options.tolerance_deg = 1.0;
  CHECK(solve(session, options).verdict->state != VerdictState::kCaptureMore);
  // The zero of the gauge has no part in a turn from the last recording, and has one in a turn from a stated azimuth.
  options = {};
  options.gauge_zero_u_deg = 0.3;
  CHECK(solve(session, options).verdict->state == VerdictState::kTurn);
  options.from_tilt_deg = 0.0;
  CHECK(holds(solve(session, options).verdict->text, "The largest part is the term \"gauge zero\" (u 0.300°). Count the turn from"));
}
