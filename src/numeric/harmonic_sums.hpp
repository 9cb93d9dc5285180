// SPDX-License-Identifier: GPL-3.0-or-later
// The products that a fit of harmonics of a turn needs, without its matrix: from e^{iφ} of each row.
#pragma once

#include <complex>
#include <vector>

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// e^{iφ} of each row, φ the angle of the record's turn.
using TurnPhasors = std::vector<std::complex<double>>;

/// The angle is counted from middle_s on.
TurnPhasors turn_phasors(const std::vector<double>& time_s, double middle_s, double rpm);
/// Of several speeds; evenly spaced ones cost two sines a row and a product each.
std::vector<TurnPhasors> turn_phasors(const std::vector<double>& time_s, double middle_s, const std::vector<double>& rpm);
/// Of evenly spaced times, the first of them first_s after the middle.
TurnPhasors even_turn_phasors(double first_s, double step_s, std::size_t count, double rpm);

// Below, X has the columns 1, cos φ, sin φ, cos 2φ, sin 2φ, … of that many harmonics, kMostHarmonics at most.
inline constexpr int kMostHarmonics = 8;

/// Xᵀ·diag(weights)·X, from the sums of weight·e^{imφ} up to m = 2·harmonics. Accuracy: 10⁻¹² of its largest element.
Eigen::MatrixXd harmonic_information(const TurnPhasors& phasors, const Eigen::VectorXd& weights, int harmonics);
/// Xᵀ·values.
Eigen::VectorXcd harmonic_pull(const TurnPhasors& phasors, const Eigen::VectorXcd& values, int harmonics);
/// X·coefficients. Requires: 1 + 2·harmonics coefficients.
Eigen::VectorXcd harmonic_values(const TurnPhasors& phasors, const Eigen::VectorXcd& coefficients);

}  // namespace evenwall::internal::numeric
