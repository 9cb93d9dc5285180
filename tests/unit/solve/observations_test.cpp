// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/observations.hpp"

#include "evenwall/error.hpp"
#include "evenwall/solve.hpp"
#include "solve/wiring_votes.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

TEST_CASE("The frequency that most steps share is used, or the requested one") {
  rig::Draw draw(1);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-1, 0, 1}, 1e-5, draw, 0.0);
  for (Step& step : session.steps) {
    LeakPair low = measurement_of(step).crosstalk;
    low.frequency_hz = 315;
    measurement_of(step).crosstalk_spectrum.insert(measurement_of(step).crosstalk_spectrum.begin(), low);
  }
  measurement_of(session.steps[1]).crosstalk_spectrum.pop_back();
  CHECK_THAT(observations_of(session, {}).frequency_hz, WithinAbs(315, 1e-9));
  SolveOptions options;
  options.frequency_hz = 1010;
  const Observations at_1k = observations_of(session, options);
  CHECK_THAT(at_1k.frequency_hz, WithinAbs(1000, 1e-9));
  CHECK(at_1k.fitted.size() == 2);
  CHECK(says(at_1k.warnings, WarningCode::kStepUnreadable));
  options.frequency_hz = 3000;
  CHECK_THROWS_AS(observations_of(session, options), Error);
}

TEST_CASE("The level ratio and the phase of an observation are those of the gain between the channels") {
  rig::Draw draw(2);
  rig::Rig r;
  r.gain_left = std::polar(1.2, 0.1);
  r.delta_left_deg = r.delta_right_deg = 0.5;
  const Session session = session_of(r, {0}, 1e-9, draw, 0.0);
  const Observation o = observations_of(session, {}).fitted.front();
  CHECK_THAT(*o.ln_level_ratio, WithinAbs(std::log(1.2), 1e-6));
  CHECK_THAT(*o.interchannel_phase_rad, WithinAbs(0.1, 1e-6));
  CHECK_FALSE(o.vertical);
  std::vector<Observation> swapped{o};
  for (Observation& each : swapped) swap_channels(each);
  CHECK(swapped[0].right_into_left == o.left_into_right);
  CHECK(*swapped[0].ln_level_ratio == -*o.ln_level_ratio);
}

TEST_CASE("The record's bands show a swap and a polarity fault, and without stated bands nothing is concluded") {
  rig::Draw draw(3);
  Session session = session_of({}, {0}, 1e-5, draw, 0.0);
  const Observations observations = observations_of(session, {});
  CHECK_FALSE(wiring_evidence(session, observations).channels_swapped);
  CHECK_FALSE(wiring_evidence(session, observations).polarity_reversed);
  session.facts.bands = {Band::kRight, Band::kLeft, Band::kVertical};
  CHECK(wiring_evidence(session, observations).channels_swapped == true);
  CHECK(wiring_evidence(session, observations).polarity_reversed == true);
  session.facts.bands = {Band::kLeft, Band::kRight, Band::kLateral};
  CHECK(wiring_evidence(session, observations).channels_swapped == false);
  CHECK(wiring_evidence(session, observations).polarity_reversed == false);
}

TEST_CASE("Each excluded step is named, even if another step is excluded for the same reason") {
  rig::Draw draw(4);
  Session session = session_of({}, {-1, 0, 1, 2, 3, 4}, 1e-5, draw, 0.0);
  for (const std::size_t i : {1U, 3U}) {
    session.steps[i].log.tilt_deg.reset();  // a tilt is needed only without phases
    measurement_of(session.steps[i]).phases_measured = false;
  }
  session.steps[4].log.tilt_deg = -1e308;
  session.steps[5].log.tilt_u = 1e308;
  const Observations observations = observations_of(session, {});
  CHECK(observations.fitted.size() == 2);
  REQUIRE(observations.warnings.size() == 4);
  for (std::size_t i = 0; i < 4; ++i) {
    const std::size_t step = std::vector<std::size_t>{1, 3, 4, 5}[i];
    CHECK(observations.warnings[i].message.starts_with(session.steps[step].log.capture + " is excluded: "));
  }
}

TEST_CASE("Steps without a tilt come last, in the order of capture, and are not a setting") {
  rig::Draw draw(4);
  Session session = session_of({}, {3, -1, 0, 1}, 1e-5, draw, 0.0);
  session.steps[0].log.tilt_deg.reset();
  session.steps[2].log.tilt_deg.reset();
  const Observations observations = observations_of(session, {});
  REQUIRE(observations.fitted.size() == 4);
  CHECK(steps_with_tilt(observations.fitted) == 2);
  CHECK(distinct_settings(observations.fitted) == 2);
  const std::size_t steps[] = {1, 3, 0, 2};
  for (std::size_t i = 0; i < 4; ++i) CHECK(observations.fitted[i].step == steps[i]);
  CHECK(observations.warnings.empty());
}

TEST_CASE("A verifying step with an impossible tilt is excluded with a warning") {
  rig::Draw draw(5);
  Session session = session_of({}, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.0);
  const auto with = [&](StepUse use, double tilt_deg) {
    session.steps[4].log.use = use;
    session.steps[4].log.tilt_deg = tilt_deg;
    return solve(session, {});
  };
  REQUIRE(with(StepUse::kVerify, 2).verification.size() == 1);
  const Solution s = with(StepUse::kVerify, 1e308);
  CHECK(s.verification.empty());
  CHECK(s.steps.size() == 4);
  CHECK(says(s.warnings, WarningCode::kStepUnreadable));
  CHECK_FALSE(says(with(StepUse::kNo, 1e308).warnings, WarningCode::kStepUnreadable));
}

TEST_CASE("An excluded row is named, listed by its step, and no longer fitted") {
  rig::Draw draw(6);
  const Session session = session_of({}, {2, -1, 0}, 1e-5, draw, 0.0);
  Observations observations = observations_of(session, {});
  set_aside(2, "why", session, observations);
  CHECK(observations.set_aside == std::vector<std::size_t>{0});
  CHECK(observations.fitted.size() == 2);
  REQUIRE(observations.warnings.size() == 1);
  CHECK(observations.warnings[0].code == WarningCode::kLeaksOff);
  CHECK(observations.warnings[0].message == "step " + session.steps[0].log.capture + ": why");
}

TEST_CASE("The groove's part of the crosstalk uncertainty is subtracted from the covariance, up to the stated value") {
  rig::Draw draw(4);
  Session session = session_of({}, {0}, 1e-5, draw, 0.0);
  ComplexEstimate& seen = measurement_of(session.steps[0]).crosstalk_spectrum[0].right_into_left->same_passage;
  seen.u_re = 5e-4;
  seen.u_im = 3e-4;
  seen.correlation = 0;
  const auto heard = [&](double u_groove) {
    seen.u_groove = u_groove;
    return observations_of(session, {}).fitted.front();
  };
  // The groove's part is the whole difference, 4·10⁻⁴ in quadrature: the remainder is equal on both axes.
  const Observation all = heard(1);
  CHECK_THAT(all.right_into_left_groove_u, WithinRel(4e-4, 1e-6));
  CHECK_THAT(all.right_into_left_covariance(0, 0), WithinRel(9e-8, 1e-3));
  CHECK_THAT(all.right_into_left_covariance(1, 1), WithinRel(9e-8, 1e-3));
  const Observation some = heard(2e-4);
  CHECK_THAT(some.right_into_left_groove_u, WithinRel(2e-4, 1e-6));
  CHECK_THAT(some.right_into_left_covariance(0, 0), WithinRel(21e-8, 1e-3));
  CHECK_THAT(some.right_into_left_covariance(1, 1), WithinRel(9e-8, 1e-3));
  CHECK(heard(0).right_into_left_groove_u == 0);
}
