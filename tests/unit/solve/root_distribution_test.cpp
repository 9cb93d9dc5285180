// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/root_distribution.hpp"

#include <cmath>

#include "numeric/distributions.hpp"
#include "solve/joint_fit.hpp"
#include "solve/method_constants.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;
using namespace evenwall::internal::solve;

namespace {

JointFit random_joint(rig::Draw& draw, int steps, OptionalNumber gauge_u_deg) {
  const rig::Rig r = rig::random_rig(draw);
  Session session;
  session.facts.gauge_u_deg = gauge_u_deg;
  for (int i = 0; i < steps; ++i) {
    const double logged = -2.5 + 5.0 * i / (steps - 1);
    const double wrong = i == 2 && draw.uniform(0, 1) < 0.3 ? draw.uniform(-0.6, 0.6) : 0;
    session.steps.push_back(rig::step(r, logged + 0.05 * draw.normal() + wrong, logged, 1e-4, draw, i));
  }
  return fit_jointly(session, {});
}

/// The definition, written out: for each account the criterion over its standard deviation, by differences.
double written_out(CriterionKind kind, const TiltFit& fit, double v_rad) {
  double p = 0;
  for (const TiltAccount& a : fit.accounts) {
    const double psi = a.signal_scale * (v_rad - a.least_rad);
    Eigen::VectorXd slope = Eigen::VectorXd::Zero(2 + kCommonSize);
    for (int k = 0; k <= kShapeSize; ++k) {
      const auto at = [&](double by) {
        const Nudged n = nudged(psi, a.shape(), k, by);
        return criterion(kind, n.psi_rad, n.shape);
      };
      slope[k == 0 ? 0 : k + 1] = (k == 0 ? -a.signal_scale : 1) * (at(1e-5) - at(-1e-5)) / 2e-5;
    }
    double variance = slope.dot(a.covariance * slope);
    // Welch and Satterthwaite: stated terms have no scatter of their own.
    const double estimated = variance - slope.dot(a.known_covariance * slope);
    const double nu = a.degrees_of_freedom * std::pow(variance / estimated, 2);
    if (kind != CriterionKind::kLeast) {
      const Eigen::VectorXd shape = slope.segment(2, kShapeSize);
      variance = std::max(variance, shape.dot(a.signal_covariance.topLeftCorner(kShapeSize, kShapeSize) * shape));
    }
    const double z = criterion(kind, psi, a.shape()) / std::sqrt(variance);
    p += a.probability * (a.degrees_of_freedom > 0 ? student_cdf(z, nu) : normal_cdf(z));
  }
  return p;
}

}  // namespace

TEST_CASE("Quantiles over all hypotheses agree with the distribution computed directly") {
  int scored = 0;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    rig::Draw draw(seed);
    const int steps = 3 + static_cast<int>(draw.uniform(0, 30));
    const JointFit joint = random_joint(draw, steps, draw.uniform(0, 1) < 0.5 ? OptionalNumber(0.05) : std::nullopt);
    for (const auto kind : {CriterionKind::kLeast, CriterionKind::kEqual, CriterionKind::kPhase}) {
      const RootDistribution distribution(kind, joint.tilt, RootOf::kTilt);
      for (const double p : {0.025, 0.5, 0.975}) {
        const auto v = distribution.quantile_rad(p);
        if (!v) continue;
        INFO("seed " << seed << ", kind " << static_cast<int>(kind) << ", p " << p);
        const double found = written_out(kind, joint.tilt, *v);
        // 1e-7: slopes by differences of 1e-5 lose nine digits of a spread that is itself determined to a part in 1e9. If the criterion
        // falls, the probability is one minus p. A long mixture is condensed (account_mixture.hpp).
        const double limit = joint.tilt.accounts.size() > kManyAccounts ? 1e-5 : 1e-7;
        CHECK(std::min(std::abs(found - p), std::abs(1 - found - p)) < limit);
        ++scored;
      }
    }
  }
  CHECK(scored > 250);
}

TEST_CASE("Quantiles need only a few evaluations of the mixture") {
  rig::Draw draw(3);
  for (const OptionalNumber gauge : {OptionalNumber(0.05), OptionalNumber()}) {
    const JointFit joint = random_joint(draw, 200, gauge);
    const RootDistribution distribution(CriterionKind::kLeast, joint.tilt, RootOf::kTilt);
    for (const double p : {0.025, 0.5, 0.975}) CHECK(distribution.quantile_rad(p));
    CHECK(distribution.looks() <= 2 + 3 * 6);  // the two ends, and six for each p; bracketing from 20° away takes 20 for each
  }
}

TEST_CASE("A quantile beyond the search range is not returned") {
  TiltAccount account;
  account.probability = 1;
  account.common = Eigen::VectorXd::Zero(kCommonSize);
  account.common[kShear] = 0.01;
  account.covariance = Eigen::MatrixXd::Identity(2 + kCommonSize, 2 + kCommonSize) * 100;  // radians²: the tilt may be anywhere
  account.known_covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.signal_covariance = Eigen::MatrixXd::Identity(kCommonSize, kCommonSize) * 100;
  TiltFit fit;
  fit.accounts = {account};
  CHECK_FALSE(RootDistribution(CriterionKind::kLeast, fit, RootOf::kTilt).quantile_rad(0.025));
}

TEST_CASE("A second root of the exact response does not prevent an answer") {
  // Shear over bend is -0.01: the second root lies 5.7 degrees from least crosstalk, within reach, and the criterion turns back at 3.3.
  TiltAccount account;
  account.probability = 1;
  account.common = Eigen::VectorXd::Zero(kCommonSize);
  account.common[kShear] = 0.0005;
  account.common[kBend] = -0.05;
  account.covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.covariance(0, 0) = std::pow(radians(0.1), 2);
  account.known_covariance = account.covariance;
  account.signal_covariance = Eigen::MatrixXd::Zero(kCommonSize, kCommonSize);
  TiltFit fit;
  fit.accounts = {account};
  for (const auto gauge : {GaugeKnowledge::kStated, GaugeKnowledge::kEstimated}) {
    fit.gauge = gauge;
    const RootDistribution distribution(CriterionKind::kEqual, fit, RootOf::kTilt);
    for (const auto& [p, expected_deg] : {std::pair(0.025, -0.195996), {0.5, 0.0}, {0.975, 0.195996}}) {
      const auto v = distribution.quantile_rad(p);
      REQUIRE(v);
      // Without quadrature equal and least crosstalk coincide: normal with u 0.1 degree. The criterion bends by ψ² of itself there.
      CHECK_THAT(degrees(*v), WithinAbs(expected_deg, 0.002));
    }
  }
}
