// SPDX-License-Identifier: GPL-3.0-or-later
// Computes products with the design matrix of a harmonic fit from e^{iφ} of each row, without the matrix.
#pragma once

#include <complex>
#include <vector>

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// e^{iφ} of each row; φ is the angle of the record's rotation.
using TurnPhasors = std::vector<std::complex<double>>;

/// The angle is 0 at middle_s.
TurnPhasors turn_phasors(const std::vector<double>& time_s, double middle_s, double rpm);
/// For several speeds. If these are evenly spaced, each row costs two sines in all and one product per speed.
std::vector<TurnPhasors> turn_phasors(const std::vector<double>& time_s, double middle_s, const std::vector<double>& rpm);
/// For evenly spaced times; the first one is first_s after the middle.
TurnPhasors even_turn_phasors(double first_s, double step_s, std::size_t count, double rpm);

// Below, X is the design matrix with the columns 1, cos φ, sin φ, cos 2φ, sin 2φ, … There are at most kMostHarmonics harmonics.
inline constexpr int kMostHarmonics = 8;

/// Xᵀ·diag(weights)·X, from the sums of weight·e^{imφ} up to m = 2·harmonics. Accuracy: 10⁻¹² of the largest element.
Eigen::MatrixXd harmonic_information(const TurnPhasors& phasors, const Eigen::VectorXd& weights, int harmonics);
/// Xᵀ·values.
Eigen::VectorXcd harmonic_pull(const TurnPhasors& phasors, const Eigen::VectorXcd& values, int harmonics);
/// X·coefficients. Requires: an odd number of coefficients, 1 + 2·harmonics.
Eigen::VectorXcd harmonic_values(const TurnPhasors& phasors, const Eigen::VectorXcd& coefficients);

}  // namespace evenwall::internal::numeric
