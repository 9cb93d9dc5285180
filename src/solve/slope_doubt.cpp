// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/slope_doubt.hpp"

#include <cmath>
#include <numbers>

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

void add_slope_doubt(double slope_u, TiltAccount& account) {
  account.slope_shift_rad = shift_rad(slope_u, account);
  const double difference2 = slope_variance_rad2(CriterionKind::kLeast, account);
  account.covariance(0, 0) += difference2;
  account.known_covariance(0, 0) += difference2;
}

}  // namespace evenwall::internal::solve
