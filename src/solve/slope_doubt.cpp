// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/slope_doubt.hpp"

#include <cmath>
#include <numbers>

#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

/// By how many times σ Re δ the criterion's tilt is off.
double shifts_of(CriterionKind kind, const TiltAccount& account) {
  if (kind != CriterionKind::kEqual) return kind == CriterionKind::kLeast ? 2 : 0;
  const double shear2 = std::pow(account.common[kShear], 2);
  const double quadrature2 = 0.5 * (std::pow(account.common[kQuadratureLeft], 2) + std::pow(account.common[kQuadratureRight], 2));
  return shear2 > 0 ? 1 + quadrature2 / shear2 : 1;  // without shear, equal crosstalk is not determined
}

/// Standard uncertainty σδ.
double shift_rad(double slope_u, const TiltAccount& account) {
  const double u_half_difference = slope_u / std::numbers::sqrt2;
  return u_half_difference * std::abs(account.common[kShear]);
}

Eigen::Matrix2d outer_square(Complex v) {
  const Eigen::Vector2d parts(v.real(), v.imag());
  return parts * parts.transpose();
}

}  // namespace

double slope_doubt_rad(CriterionKind kind, double slope_u, double u_scale, const TiltAccount& account) {
  return std::hypot(shifts_of(kind, account) * shift_rad(slope_u, account), u_scale * account.least_rad);
}

double slope_variance_rad2(CriterionKind kind, const TiltAccount& account) {
  return std::pow(shifts_of(kind, account) * account.slope_shift_rad, 2);
}

double slope_variance_excess_rad2(CriterionKind kind, const TiltAccount& account) {
  return slope_variance_rad2(kind, account) - slope_variance_rad2(CriterionKind::kLeast, account);
}

void allow_for_slopes(double slope_u, const SignalFit& fit, std::vector<Observation>& observations) {
  if (!(slope_u > 0) || !fit.psi_rad.allFinite() || !fit.common.allFinite()) return;
  const auto widen = [&](Eigen::Matrix2d& covariance, Complex& by_slope, Complex course, double psi) {
    by_slope = Complex(0, slope_u * psi) * course;
    covariance += outer_square(by_slope);
  };
  for (std::size_t i = 0; i < observations.size(); ++i) {
    const double psi = fit.psi_rad[static_cast<Eigen::Index>(i)];
    if (!(std::abs(psi) < radians(kMostTilt_deg))) continue;
    const PredictedRatios above = predicted_ratios(psi + kCurveStep_rad, fit.common),
                          below = predicted_ratios(psi - kCurveStep_rad, fit.common);
    widen(observations[i].right_into_left_covariance, observations[i].right_into_left_by_slope,
          (above.right_into_left - below.right_into_left) / (2 * kCurveStep_rad), psi);
    widen(observations[i].left_into_right_covariance, observations[i].left_into_right_by_slope,
          (above.left_into_right - below.left_into_right) / (2 * kCurveStep_rad), psi);
  }
}

std::vector<Observation> without_slopes(std::vector<Observation> observations) {
  for (Observation& o : observations) {
    o.right_into_left_covariance -= outer_square(o.right_into_left_by_slope);
    o.left_into_right_covariance -= outer_square(o.left_into_right_by_slope);
  }
  return observations;
}

void add_slope_doubt(double slope_u, TiltAccount& account) {
  account.slope_shift_rad = shift_rad(slope_u, account);
  const double difference2 = slope_variance_rad2(CriterionKind::kLeast, account);
  account.covariance(0, 0) += difference2;
  account.known_covariance(0, 0) += difference2;
}

}  // namespace evenwall::internal::solve
