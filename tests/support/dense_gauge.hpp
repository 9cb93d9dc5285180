// SPDX-License-Identifier: GPL-3.0-or-later
// Fits the log to the tilts by the slow, direct method: it factors the whole covariance matrix of the tilts again for every spread of the
// settings.
#pragma once

#include <cmath>

#include "solve/tilt_fit.hpp"
#include "support/least_squares.hpp"

namespace dense {

struct GaugeFit {
  Eigen::Vector2d theta;
  Eigen::Matrix2d covariance;
  Eigen::VectorXd common;  // given the log
  Eigen::MatrixXd joint;   // covariance of (theta, common)
  double misfit = 0;
  double log_evidence = 0;
};

/// errors: covariance of the differences between the true tilts and the log. u_scale: empty if k has no prior.
inline GaugeFit fit_gauge(const std::vector<evenwall::internal::solve::Observation>& observations,
                          const evenwall::internal::solve::SignalFit& signal, const Eigen::MatrixXd& errors, double scale_centre,
                          evenwall::OptionalNumber u_scale) {
  using evenwall::internal::solve::kCommonSize;
  const auto n = static_cast<Eigen::Index>(observations.size());
  const Eigen::MatrixXd covariance = signal.covariance.top_left_corner(n + kCommonSize, n + kCommonSize);
  Eigen::MatrixXd design(n, 2);
  for (Eigen::Index i = 0; i < n; ++i) design.row(i) << -1, evenwall::radians(observations[static_cast<std::size_t>(i)].logged);
  const Eigen::MatrixXd spread = covariance.topLeftCorner(n, n) + errors;
  const Eigen::LLT<Eigen::MatrixXd> factor(spread);
  Eigen::MatrixXd rows = Eigen::MatrixXd::Zero(n + 1, 2);
  Eigen::VectorXd values = Eigen::VectorXd::Zero(n + 1);
  rows.topRows(n) = factor.matrixL().solve(design);
  values.head(n) = factor.matrixL().solve(signal.psi_rad);
  if (u_scale) {
    rows(n, 1) = 1.0 / *u_scale;
    values[n] = scale_centre / *u_scale;
  }
  const dense::LeastSquaresFit line = dense::least_squares(rows, values);
  GaugeFit fit;
  fit.theta = line.coefficients;
  fit.covariance = line.covariance;
  fit.misfit = line.sum_of_squares;
  const double ln_spread = 2 * factor.matrixLLT().diagonal().array().log().sum();
  fit.log_evidence = -0.5 * (ln_spread - std::log(fit.covariance.determinant()) + fit.misfit) - (u_scale ? std::log(*u_scale) : 0.0);
  // The joint normal distribution of tilts and common unknowns is conditioned on the log.
  const Eigen::MatrixXd cross = covariance.block(n, 0, kCommonSize, n);
  const Eigen::MatrixXd gain = factor.solve(cross.transpose()).transpose();
  const Eigen::MatrixXd carried = gain * design;
  fit.common = signal.common - gain * (signal.psi_rad - design * fit.theta);
  fit.joint = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  fit.joint.topLeftCorner(2, 2) = fit.covariance;
  fit.joint.block(2, 0, kCommonSize, 2) = carried * fit.covariance;
  fit.joint.block(0, 2, 2, kCommonSize) = (carried * fit.covariance).transpose();
  fit.joint.bottomRightCorner(kCommonSize, kCommonSize) =
      covariance.bottomRightCorner(kCommonSize, kCommonSize) - gain * cross.transpose() + carried * fit.covariance * carried.transpose();
  return fit;
}

}  // namespace dense
