// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/magnitude_model.hpp"

#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

Observation observation(rig::Draw& draw, double logged, bool swapped) {
  Observation o;
  o.logged = logged;
  o.right_into_left = draw.uniform(0.005, 0.05);
  o.left_into_right = draw.uniform(0.005, 0.05);
  o.right_into_left_covariance = o.left_into_right_covariance = Eigen::Matrix2d::Identity() * 1e-8;
  o.ln_level_ratio = draw.normal() * 0.1;
  o.u_ln_level_ratio = 0.01;
  o.leads_swapped = swapped;
  o.phase_known = false;
  return o;
}

}  // namespace

TEST_CASE("Slopes of every row equal differences of its residual") {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    std::vector<Observation> observations;
    for (int i = 0; i < 4; ++i) observations.push_back(observation(draw, -2 + i, i == 1));
    MagnitudeProblem problem{observations, {0.01, 0.03, 0}, {}, Eigen::VectorXd::Constant(4, 0.001), 0.03};
    const auto at = problem.layout();
    Eigen::VectorXd unknowns = Eigen::VectorXd::NullaryExpr(at.size(), [&] { return 0.02 * draw.normal(); });
    const MagnitudeRows rows = rows_at(problem, unknowns);
    for (Eigen::Index k = 0; k < at.size(); ++k) {
      constexpr double kBy = 1e-6;
      Eigen::VectorXd up = unknowns, down = unknowns;
      up[k] += kBy, down[k] -= kBy;
      const Eigen::VectorXd difference = (rows_at(problem, down).residuals - rows_at(problem, up).residuals) / (2 * kBy);
      const double scale = 1 + difference.cwiseAbs().maxCoeff();
      // Central differences of step 1e-6: 1e-5 of the largest slope covers the curvature near a minimum of the crosstalk.
      CHECK((rows.slopes.col(k) - difference).cwiseAbs().maxCoeff() < 1e-5 * scale);
    }
  }
}

TEST_CASE("The descent ends at a point from which a further step gains nothing") {
  // The magnitudes are those of a rig, read to 2 %: data that no response explains have no clear minimum.
  rig::Draw draw(9);
  const rig::Rig r = rig::random_rig(draw);
  std::vector<Observation> observations;
  for (int i = 0; i < 6; ++i) {
    Observation o = observation(draw, -2.5 + i, false);
    o.right_into_left = std::abs(rig::leak_rl(r, o.logged)) * (1 + 0.02 * draw.normal());
    o.left_into_right = std::abs(rig::leak_lr(r, o.logged)) * (1 + 0.02 * draw.normal());
    o.right_into_left_covariance = Eigen::Matrix2d::Identity() * std::norm(0.02 * o.right_into_left);
    o.left_into_right_covariance = Eigen::Matrix2d::Identity() * std::norm(0.02 * o.left_into_right);
    observations.push_back(o);
  }
  MagnitudeProblem problem{observations, {0, 0.03, 0}, {}, Eigen::VectorXd::Constant(6, 0.001), 0.03};
  Eigen::VectorXd unknowns = Eigen::VectorXd::Constant(problem.layout().size(), 0.01);
  unknowns[problem.layout().scale()] = 1;
  for (int i = 0; i < 6; ++i) unknowns[i] = radians(observations[static_cast<std::size_t>(i)].logged) - 0.01;
  const double before = rows_at(problem, unknowns).residuals.squaredNorm();
  const double after = descend(problem, unknowns);
  CHECK(after < before);
  const MagnitudeRows rows = rows_at(problem, unknowns);
  CHECK_THAT(rows.residuals.squaredNorm(), WithinAbs(after, 1e-9 * after));
  const Eigen::MatrixXd normal = rows.slopes.transpose() * rows.slopes;
  const Eigen::VectorXd step = normal.ldlt().solve(rows.slopes.transpose() * rows.residuals);
  // The χ² that a further step would gain is negligible.
  CHECK(step.dot(normal * step) < 1e-3 * (1 + after));
}
