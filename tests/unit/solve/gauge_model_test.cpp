// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_model.hpp"

#include <Eigen/LU>

#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

TEST_CASE("The linear fit is generalised least squares, written out") {
  rig::Draw draw(3);
  const std::vector<double> logged{-2, -0.5, 0, 1, 2.5};
  std::vector<Observation> observations(5);
  SignalFit signal;
  signal.psi_rad.resize(5);
  signal.common = Eigen::VectorXd::Zero(kCommonSize);
  signal.covariance = Eigen::MatrixXd::Zero(5 + kCommonSize, 5 + kCommonSize);
  Eigen::MatrixXd root = Eigen::MatrixXd::NullaryExpr(5 + kCommonSize, 5 + kCommonSize, [&] { return 1e-4 * draw.normal(); });
  signal.covariance = root * root.transpose();
  for (Eigen::Index i = 0; i < 5; ++i) {
    observations[static_cast<std::size_t>(i)].logged = logged[static_cast<std::size_t>(i)];
    signal.psi_rad[i] = radians(1.01 * logged[static_cast<std::size_t>(i)] - 0.7) + 1e-4 * draw.normal();
  }
  const Eigen::VectorXd u = Eigen::VectorXd::Constant(5, 3e-4);
  const GaugeFit fit = fit_gauge(observations, signal, u, 1.0, 0.02);

  Eigen::MatrixXd x(5, 2);
  for (Eigen::Index i = 0; i < 5; ++i) x.row(i) << -1, radians(logged[static_cast<std::size_t>(i)]);
  const Eigen::MatrixXd v = signal.covariance.top_left_corner(5, 5) + Eigen::MatrixXd((u.cwiseAbs2()).asDiagonal());
  Eigen::Matrix2d information = x.transpose() * v.inverse() * x;
  information(1, 1) += 1 / 0.0004;
  Eigen::Vector2d pull = x.transpose() * v.inverse() * signal.psi_rad;
  pull[1] += 1 / 0.0004;
  const Eigen::Vector2d theta = information.inverse() * pull;
  CHECK_THAT(fit.theta[0], WithinRel(theta[0], 1e-10));
  CHECK_THAT(fit.theta[1], WithinRel(theta[1], 1e-10));
  CHECK_THAT(fit.covariance(0, 0), WithinRel(information.inverse()(0, 0), 1e-10));

  // What the log tells about the common unknowns: the same as conditioning the joint normal on it, which can only sharpen them.
  TiltAccount account;
  join(signal, fit, account);
  for (int k = 0; k < kCommonSize; ++k) CHECK(account.covariance(2 + k, 2 + k) <= signal.covariance(5 + k, 5 + k) * (1 + 1e-12));
  CHECK(account.covariance.isApprox(account.covariance.transpose(), 1e-12));
}
