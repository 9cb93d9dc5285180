// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/criteria.hpp"

#include "solve/joint_fit.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

JointFit joint(const rig::Rig& r, double u, std::uint64_t seed, OptionalNumber gauge = 0.0) {
  rig::Draw draw(seed);
  return fit_jointly(session_of(r, {-2, -1, 0, 1, 2}, u, draw, gauge), {});
}

}  // namespace

TEST_CASE("If the channels are at right angles, equal crosstalk is not determined, however clean the data are") {
  rig::Rig r;
  r.delta_left_deg = r.delta_right_deg = 0.8;
  r.coupling_rl = {0, 0.004};
  r.coupling_lr = {0, 0.003};
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    const JointFit fit = joint(r, 3e-5, seed);
    INFO("seed " << seed);
    CHECK_FALSE(determination(CriterionKind::kEqual, fit.tilt).determined);
    CHECK(criterion_tilt(CriterionKind::kLeast, fit.tilt));
  }
}

TEST_CASE("Without quadrature the phase match is not determined, and least and equal crosstalk coincide") {
  rig::Rig r;
  r.delta_left_deg = 1.6;
  r.delta_right_deg = 0.2;
  const JointFit fit = joint(r, 1e-5, 3);
  CHECK(determination(CriterionKind::kEqual, fit.tilt).determined);
  CHECK_FALSE(determination(CriterionKind::kPhase, fit.tilt).determined);
  CHECK_THAT(criterion_tilt(CriterionKind::kEqual, fit.tilt)->tilt_deg,
             WithinAbs(criterion_tilt(CriterionKind::kLeast, fit.tilt)->tilt_deg, 0.003));
}

TEST_CASE("Equal crosstalk is determined without a stated gauge whenever it is determined with one") {
  // Only the signal decides whether the criterion is determined; the log only gives the zero.
  int given = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    rig::Draw draw(seed);
    const rig::Rig r = rig::random_rig(draw);
    const JointFit stated = joint(r, 1e-4, seed, 0.02), unstated = joint(r, 1e-4, seed, std::nullopt);
    INFO("seed " << seed);
    const bool determined = determination(CriterionKind::kEqual, stated.tilt).determined;
    CHECK(determination(CriterionKind::kEqual, unstated.tilt).determined == determined);
    if (!determined) continue;
    const auto with = criterion_tilt(CriterionKind::kEqual, stated.tilt), without = criterion_tilt(CriterionKind::kEqual, unstated.tilt);
    REQUIRE(with);
    REQUIRE(without);
    CHECK_THAT(without->tilt_deg, WithinAbs(with->tilt_deg, 0.02));  // the log is exact: both lie within a u of about 0.01
    ++given;
  }
  CHECK(given > 40);
}

TEST_CASE("Intervals contain their own median and widen with the uncertainty of the gauge") {
  rig::Draw draw(9);
  const rig::Rig r = rig::random_rig(draw);
  const auto fine = criterion_tilt(CriterionKind::kLeast, joint(r, 1e-4, 1).tilt);
  const auto coarse = criterion_tilt(CriterionKind::kLeast, joint(r, 1e-4, 1, 0.1).tilt);
  REQUIRE(fine);
  REQUIRE(coarse);
  CHECK(fine->interval95_deg[0] < fine->tilt_deg);
  CHECK(fine->tilt_deg < fine->interval95_deg[1]);
  CHECK(coarse->u_deg > 5 * fine->u_deg);
  CHECK_THAT(coverage_factor95(3), WithinAbs(3.182, 5e-4));  // NIST/SEMATECH e-Handbook, 1.3.6.7.2
  CHECK_THAT(coverage_factor95(0), WithinAbs(1.960, 5e-4));
}

TEST_CASE("The standard uncertainty is that of the mean, and half of the interval is its coverage factor times as wide") {
  // Logs without a stated uncertainty whose errors scatter by 0.1° (JCGM 100:2008, 4.2.3, from memory: s over the root of the number of
  // settings, and its degrees of freedom). The scatter of each log differs, so the mean of the squares over many is compared.
  rig::Rig r;
  constexpr int kSessions = 200;
  double squares = 0;
  for (std::uint64_t seed = 1; seed <= kSessions; ++seed) {
    rig::Draw draw(seed);
    Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-6, draw, std::nullopt);
    for (Step& step : session.steps) *step.log.tilt_deg += 0.1 * draw.normal();
    const auto tilt = criterion_tilt(CriterionKind::kLeast, fit_jointly(session, {}).tilt);
    REQUIRE(tilt);
    const double half_deg = 0.5 * (tilt->interval95_deg[1] - tilt->interval95_deg[0]);
    CHECK_THAT(half_deg, WithinRel(coverage_factor95(tilt->degrees_of_freedom) * tilt->u_deg, 1e-9));
    squares += tilt->u_deg * tilt->u_deg / kSessions;
  }
  CHECK_THAT(std::sqrt(squares), WithinRel(0.1 / std::sqrt(5.0), 0.15));
}

TEST_CASE("Three settings without a stated uncertainty have few degrees of freedom, stated ones practically infinitely many") {
  rig::Draw draw(5);
  Session session = session_of(rig::random_rig(draw), {-2, 0, 2}, 1e-5, draw, std::nullopt);
  session.steps[1].log.tilt_deg = 0.1;
  const auto few = criterion_tilt(CriterionKind::kLeast, fit_jointly(session, {}).tilt);
  session.facts.gauge_u_deg = 0.1;
  const auto stated = criterion_tilt(CriterionKind::kLeast, fit_jointly(session, {}).tilt);
  REQUIRE(few);
  REQUIRE(stated);
  CHECK(few->degrees_of_freedom >= 1);
  CHECK(few->degrees_of_freedom < 5);
  CHECK((stated->degrees_of_freedom == 0 || stated->degrees_of_freedom > 20));
  CHECK_THAT(stated->u_deg, WithinRel(0.1 / std::sqrt(3.0), 0.2));
}
