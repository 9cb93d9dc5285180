// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/turn_fit.hpp"

#include "evenwall/error.hpp"
#include "evenwall/solve.hpp"
#include "solve/joint_fit.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

const std::vector<Band> kRecord{Band::kLeft, Band::kRight, Band::kLateral};

/// A session at these tilts, in order of capture, with no tilt in the log.
Session without_tilts(const rig::Rig& r, const std::vector<double>& tilts_deg, double u, rig::Draw& draw) {
  Session session = session_of(r, tilts_deg, u, draw, std::nullopt);
  session.facts.bands = kRecord;
  for (Step& step : session.steps) step.log.tilt_deg.reset();
  return session;
}

std::vector<std::string> sources(const Solution& s) {
  std::vector<std::string> all;
  for (const UncertaintyTerm& t : s.uncertainty) all.push_back(t.source);
  return all;
}

}  // namespace

TEST_CASE("without any logged tilt, the answer is the turn from the last recording") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    const rig::Rig r = rig::random_rig(draw);
    const std::vector<double> tilts{-1.7, 2.1, 0.4};
    const Solution s = solve(without_tilts(r, tilts, 1e-6, draw), {});
    const double least = rig::least_truth_deg(r);
    CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(least - 0.4, 0.002));  // noise of 1e-6, and 0.3 dB of the levels
    CHECK(s.recommended.from_capture == "step-3");
    CHECK(s.recommended.scope == Scope::kTurnOnThisRecord);
    CHECK_FALSE(s.recommended.tilt_units.has_value());
    CHECK(s.tilt_response.sense == Sense::kAsLogged);
    CHECK(s.shim.raises == (s.recommended.tilt_deg > 0 ? Side::kSpindleSide : Side::kOuterSide));
    REQUIRE(s.steps.size() == 3);  // in ascending order of tilt
    const double from_last[] = {-2.1, 0.0, 1.7};
    for (std::size_t i = 0; i < 3; ++i) {
      CHECK_THAT(s.steps[i].tilt_deg, WithinAbs(from_last[i], 0.002));
      CHECK_FALSE(s.steps[i].audit_deg.has_value());
      CHECK_FALSE(s.steps[i].tilt_units.has_value());
    }
    CHECK(s.steps[1].u_audit_deg == 0);
    for (const std::string& source : sources(s)) CHECK(source.find("gauge") == std::string::npos);
    CHECK_FALSE(says(s.warnings, WarningCode::kDirectionUnknown));
    CHECK_FALSE(says(s.warnings, WarningCode::kGaugeAssumed));
  }
}

TEST_CASE("the turn and its interval are those of the same recordings with logged tilts, from the last one") {
  // The signal's fit is the same. A perfect gauge adds no more than the angles between the steps.
  rig::Draw draw(5), again(5);
  const rig::Rig r = rig::random_rig(draw), same = rig::random_rig(again);
  const std::vector<double> tilts{-2, -1, 1, 2};
  const Solution turn = solve(without_tilts(r, tilts, 1e-5, draw), {});
  const Solution logged = solve(session_of(same, tilts, 1e-5, again, 1e-4), {});
  CHECK_THAT(turn.least_crosstalk.tilt_deg + 2, WithinAbs(logged.least_crosstalk.tilt_deg, 3 * turn.least_crosstalk.u_deg));
  CHECK_THAT(turn.balance.from_tilt_response_db.value(), WithinAbs(logged.balance.from_tilt_response_db.value(), 1e-6));
  CHECK_THAT(turn.not_correctable.least_rms_crosstalk_db, WithinAbs(logged.not_correctable.least_rms_crosstalk_db, 0.02));
}

TEST_CASE("the record's stated uncertainty is a part of the turn's") {
  rig::Draw draw(6);
  const rig::Rig r = rig::random_rig(draw);
  Session session = without_tilts(r, {-1, 1.5}, 1e-6, draw);
  session.facts.gauge_zero_u_deg = 3;  // concerns no turn
  session.facts.record_u_deg = 0.2;
  const Solution s = solve(session, {});
  CHECK_THAT(s.recommended.u_deg, WithinRel(0.2, 0.01));  // the rest is some thousandths of a degree
  CHECK(s.recommended.scope == Scope::kTurnOnAnyRecord);
}

TEST_CASE("a sequence determines which recording is the last") {
  rig::Draw draw(7);
  const rig::Rig r = rig::random_rig(draw);
  Session session = without_tilts(r, {-1, 1.5, 0.2}, 1e-6, draw);
  session.steps[0].log.sequence = 3, session.steps[1].log.sequence = 1, session.steps[2].log.sequence = 2;
  const Solution s = solve(session, {});
  CHECK(s.recommended.from_capture == "step-1");
  CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(r) + 1, 0.003));
}

TEST_CASE("rows without a tilt inform the response but not the zero of the log") {
  rig::Draw draw(8);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-1, 0, 1, 2.3}, 1e-6, draw, 0.001);
  session.steps[3].log.tilt_deg.reset();
  const Solution s = solve(session, {});
  CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(r), 0.003));  // three settings of 0.001°
  CHECK_FALSE(s.recommended.from_capture.has_value());
  CHECK(says(s.warnings, WarningCode::kTiltNotLogged));
  REQUIRE(s.steps.size() == 4);
  CHECK_THAT(s.steps[3].tilt_deg, WithinAbs(2.3, 0.003));
  CHECK_FALSE(s.steps[3].audit_deg.has_value());
  CHECK(s.steps[2].audit_deg.has_value());
  // A wrong tilt there would move the zero; no tilt does not.
  session.steps[3].log.tilt_deg = 5;
  CHECK(says(solve(session, {}).warnings, WarningCode::kStepOff));
}

TEST_CASE("one recording without a tilt is answered by the levels, and says so") {
  rig::Draw draw(9);
  const rig::Rig r = rig::random_rig(draw);
  const Solution s = solve(without_tilts(r, {0.8}, 1e-6, draw), {});
  CHECK(says(s.warnings, WarningCode::kFewSteps));
  const double truth = rig::least_truth_deg(r) - 0.8;
  CHECK(s.least_crosstalk.interval95_deg[0] < truth);
  CHECK(truth < s.least_crosstalk.interval95_deg[1]);
}

TEST_CASE("recordings at one azimuth say that they show no difference") {
  rig::Draw draw(10);
  const rig::Rig r = rig::random_rig(draw);
  const Solution s = solve(without_tilts(r, {0.8, 0.8, 0.8}, 1e-4, draw), {});
  CHECK(says(s.warnings, WarningCode::kFewSteps));
  const double truth = rig::least_truth_deg(r) - 0.8;
  CHECK(s.least_crosstalk.interval95_deg[0] < truth);
  CHECK(truth < s.least_crosstalk.interval95_deg[1]);
}

TEST_CASE("a verify recording cannot be verified without tilts, and magnitudes cannot be solved without them") {
  rig::Draw draw(11);
  const rig::Rig r = rig::random_rig(draw);
  Session session = without_tilts(r, {-1, 1, 0.3}, 1e-6, draw);
  session.steps[2].log.use = StepUse::kVerify;
  const Solution s = solve(session, {});
  CHECK(says(s.warnings, WarningCode::kNotVerified));
  CHECK(s.recommended.from_capture == "step-2");
  Session meter = metered(r, 5, 2, 0, 0.1, true, draw);
  for (Step& step : meter.steps) step.log.tilt_deg.reset();
  CHECK_THROWS_AS(solve(meter, {}), Error);
}

TEST_CASE("the turn's account has the signal's own variances, and no scale") {
  rig::Draw draw(12);
  const rig::Rig r = rig::random_rig(draw);
  const JointFit joint = fit_jointly(without_tilts(r, {-1, 1, 0.3}, 1e-5, draw), {});
  const TiltAccount account = turn_account(joint.signal, 1, radians(0.1));
  CHECK(account.least_rad == -joint.signal.psi_rad[1]);
  CHECK_THAT(account.covariance(0, 0), WithinRel(joint.signal.covariance(1, 1) + radians(0.1) * radians(0.1), 1e-12));
  CHECK_THAT(account.covariance(0, 2 + kShear), WithinRel(-joint.signal.covariance(1, 3 + kShear), 1e-12));
  CHECK(account.covariance(1, 1) == 0);
  CHECK(u_between_rad(joint.signal, 1, 1) == 0);
  const double variance = joint.signal.covariance(0, 0) + joint.signal.covariance(1, 1) - 2 * joint.signal.covariance(0, 1);
  CHECK_THAT(u_between_rad(joint.signal, 0, 1), WithinRel(std::sqrt(variance), 1e-9));
  CHECK(azimuths_differ(joint.signal));
}

TEST_CASE("the tilts of the first steps keep their covariances with the response") {
  rig::Draw draw(13);
  const rig::Rig r = rig::random_rig(draw);
  const JointFit joint = fit_jointly(session_of(r, {-1, 0, 1, 2}, 1e-5, draw, 0.01), {});
  const SignalFit two = with_tilts_of_first(2, joint.signal);
  REQUIRE(two.psi_rad.size() == 2);
  REQUIRE(two.covariance.rows() == 2 + kCommonSize);
  CHECK_THAT(two.covariance(0, 1), WithinRel(joint.signal.covariance(0, 1), 1e-12));
  CHECK_THAT(two.covariance(1, 2 + kLnGain), WithinRel(joint.signal.covariance(1, 4 + kLnGain), 1e-12));
  CHECK_THAT(two.covariance(2 + kShear, 2 + kShear), WithinRel(joint.signal.covariance(4 + kShear, 4 + kShear), 1e-12));
}
