// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/slope_doubt.hpp"

#include <cmath>
#include <numbers>

namespace evenwall::internal::solve {

double slope_doubt_rad(double slope_u, const TiltAccount& account) {
  return std::numbers::sqrt2 * slope_u * std::abs(account.common[kShear]);
}

void add_slope_doubt(double slope_u, TiltAccount& account) {
  const double u_rad = slope_doubt_rad(slope_u, account);
  account.covariance(0, 0) += u_rad * u_rad;
  account.known_covariance(0, 0) += u_rad * u_rad;
}

}  // namespace evenwall::internal::solve
