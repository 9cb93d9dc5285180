// SPDX-License-Identifier: GPL-3.0-or-later
// How many once-per-revolution terms a passage can carry, and what that leaves for its uncertainty.
#pragma once

#include <algorithm>
#include <cmath>
#include <vector>

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// Errors of frames further apart than this are taken as independent.
inline constexpr double kInfluenceBlock_s = 0.125;

/// Harmonics of the revolution to fit with the constant: two from two revolutions on, one from one on.
inline int revolution_harmonics(double revolutions) { return revolutions >= 2.0 ? 2 : revolutions >= 1.0 ? 1 : 0; }

/// A row a frame: 1, then cosine and sine of each harmonic of the turn, counted from middle_s on.
Eigen::MatrixXd revolution_terms(const std::vector<double>& time_s, double middle_s, double rpm, int harmonics);

/// Degrees of freedom of a leak's covariance from a passage of that length. Accuracy: within one or two of what `measure` has.
inline double leak_degrees_of_freedom(double duration_s, double rpm) {
  const double terms = 1.0 + 2.0 * revolution_harmonics(duration_s * rpm / 60.0);
  return std::max(6.0, std::floor(duration_s / kInfluenceBlock_s) - terms);
}

}  // namespace evenwall::internal::numeric
