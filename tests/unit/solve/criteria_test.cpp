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

TEST_CASE("Equal crosstalk of channels at right angles is not determined, however clean the data") {
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

TEST_CASE("Where nothing is in quadrature the phase match is not determined and least and equal are one") {
  rig::Rig r;
  r.delta_left_deg = 1.6;
  r.delta_right_deg = 0.2;
  const JointFit fit = joint(r, 1e-5, 3);
  CHECK(determination(CriterionKind::kEqual, fit.tilt).determined);
  CHECK_FALSE(determination(CriterionKind::kPhase, fit.tilt).determined);
  CHECK_THAT(criterion_tilt(CriterionKind::kEqual, fit.tilt)->tilt_deg,
             WithinAbs(criterion_tilt(CriterionKind::kLeast, fit.tilt)->tilt_deg, 0.003));
}

TEST_CASE("Equal crosstalk is given without a stated gauge wherever it is given with one") {
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

TEST_CASE("Intervals hold their own median and widen with the gauge") {
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
