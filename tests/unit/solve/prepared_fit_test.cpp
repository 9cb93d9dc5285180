// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/prepared_fit.hpp"

#include <numbers>

#include "evenwall/error.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

Session four_steps(rig::Draw& draw) { return session_of(rig::random_rig(draw), {-2, -1, 0, 1}, 1e-5, draw, 0.01); }

}  // namespace

TEST_CASE("Only a prepared fit has its single swapped recording corrected") {
  rig::Draw draw(17);
  Session session = four_steps(draw);
  const JointFit right = arranged(session, {});
  swap_channels_of(session.steps[1]);
  const JointFit as_recorded = arranged(session, {}), corrected = prepared(session, {});
  CHECK(as_recorded.swapped_steps.empty());
  CHECK(as_recorded.observations.fitted[1].right_into_left == right.observations.fitted[1].left_into_right);
  CHECK(corrected.swapped_steps == std::vector<std::size_t>{1});
  CHECK(corrected.observations.fitted[1].right_into_left == right.observations.fitted[1].right_into_left);
  CHECK(says(corrected.warnings, WarningCode::kSwappedOrReversed));
}

TEST_CASE("Without a logged tilt, a prepared fit counts from the last recording and keeps no term of the gauge") {
  rig::Draw draw(18);
  Session session = four_steps(draw);
  session.facts.gauge_u_deg = 0.05;
  session.facts.gauge_zero_u_deg = 0.1;
  CHECK_FALSE(prepared(session, {}).counts_from);
  for (std::size_t i = 0; i < session.steps.size(); ++i) {
    session.steps[i].log.tilt_deg.reset();
    session.steps[i].log.sequence = static_cast<int>(session.steps.size() - i);  // the first was captured last
  }
  const JointFit joint = prepared(session, {});
  REQUIRE(joint.counts_from);
  CHECK(joint.observations.fitted[*joint.counts_from].step == 0);
  CHECK(joint.gauge.u_deg == 0);
  CHECK(joint.gauge.u_zero_deg == 0);
}

TEST_CASE("A reversed polarity turns the phase of the both-channel passages once") {
  rig::Draw draw(19);
  JointFit joint = arranged(four_steps(draw), {});
  REQUIRE(joint.observations.fitted[0].interchannel_phase_rad);
  const double before = *joint.observations.fitted[0].interchannel_phase_rad, centre = joint.gains.phase_centre_rad;
  turn_polarity(joint);
  CHECK_THAT(*joint.observations.fitted[0].interchannel_phase_rad - before, WithinAbs(std::numbers::pi, 1e-12));
  CHECK_THAT(std::abs(joint.gains.phase_centre_rad - centre), WithinAbs(std::numbers::pi, 1e-12));
  turn_polarity(joint);
  CHECK_THAT(joint.gains.phase_centre_rad, WithinAbs(centre, 1e-12));
}

TEST_CASE("Widened observations have the variance that they lacked, once") {
  rig::Draw draw(20);
  Observations observations = arranged(four_steps(draw), {}).observations;
  const Eigen::Matrix2d before = observations.fitted[2].left_into_right_covariance;
  observations.leak_variance_factor = 4;
  widen(observations);
  CHECK(observations.leak_variance_factor == 1);
  CHECK(observations.fitted[2].left_into_right_covariance.isApprox(4 * before));
  widen(observations);
  CHECK(observations.fitted[2].left_into_right_covariance.isApprox(4 * before));
}

TEST_CASE("A session without a usable step is refused") {
  rig::Draw draw(21);
  Session session = four_steps(draw);
  for (Step& step : session.steps) step.log.use = StepUse::kNo;
  CHECK_THROWS_AS(arranged(session, {}), Error);
  CHECK_THROWS_AS(prepared(session, {}), Error);
}
