// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/slope_doubt.hpp"

#include <cmath>
#include <numbers>

namespace evenwall::internal::solve {
namespace {

/// Standard uncertainties due to half the channels' difference and due to their common part.
double by_difference_rad(double slope_u, const TiltAccount& account) {
  return std::numbers::sqrt2 * slope_u * std::abs(account.common[kShear]);
}
double of_scale(double slope_u) { return slope_u / std::numbers::sqrt2; }

}  // namespace

double slope_doubt_rad(double slope_u, const TiltAccount& account) {
  return std::hypot(by_difference_rad(slope_u, account), of_scale(slope_u) * account.least_rad);
}

void add_slope_doubt(double slope_u, TiltAccount& account) {
  const double difference2 = std::pow(by_difference_rad(slope_u, account), 2);
  // Least crosstalk and the log's scale change by the same share, so the number to set on the gauge does not change.
  const Eigen::Vector2d scaled = of_scale(slope_u) * Eigen::Vector2d(account.least_rad, account.scale);
  for (Eigen::MatrixXd* covariance : {&account.covariance, &account.known_covariance}) {
    (*covariance)(0, 0) += difference2;
    covariance->topLeftCorner<2, 2>() += scaled * scaled.transpose();
  }
}

}  // namespace evenwall::internal::solve
