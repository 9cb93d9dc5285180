// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the equations of a session's crosstalk magnitudes and levels in all unknowns, and finds the unknowns that fit them best.
#pragma once

#include <array>
#include <vector>

#include "numeric/arrow_fit.hpp"
#include "numeric/matrix.hpp"
#include "solve/method_constants.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// Unknowns: ψ of each step, the common ones, φ0, k.
struct MagnitudeLayout {
  Eigen::Index steps;
  [[nodiscard]] Eigen::Index common(int k) const { return steps + k; }
  [[nodiscard]] Eigen::Index least() const { return steps + kCommonSize; }
  [[nodiscard]] Eigen::Index scale() const { return steps + kCommonSize + 1; }
  [[nodiscard]] Eigen::Index size() const { return steps + kCommonSize + 2; }
};

/// Unknowns that all steps share: the common ones, φ0, k.
inline constexpr int kSharedSize = kCommonSize + 2;

/// One datum divided by its standard uncertainty: its residual, and the model's slopes by the step's own ψ and by the shared unknowns.
struct MagnitudeRow {
  double residual = 0;
  double own_slope = 0;
  std::array<double, kSharedSize> shared_slope{};
};

struct MagnitudeProblem {
  const std::vector<Observation>& observations;
  GainPriors gains;
  GaugePriors gauge;
  Eigen::VectorXd setting_u_rad;
  double bend_spread_rad;
  [[nodiscard]] MagnitudeLayout layout() const { return {static_cast<Eigen::Index>(observations.size())}; }
};

/// Appends the rows of one step to `rows`, without the row of its logged setting.
void add_step(std::vector<MagnitudeRow>& rows, const Observation& o, double psi_rad, const Eigen::VectorXd& common);

/// All rows at given values of the unknowns: the magnitudes, level and setting of each step, then the priors.
struct MagnitudeEquations {
  std::vector<MagnitudeRow> rows;
  std::vector<std::size_t> ends;  ///< one past the last row of each step; the priors follow

  [[nodiscard]] double chi2() const;
  /// damping: share of each unknown's own information that is added to it (Levenberg–Marquardt).
  [[nodiscard]] numeric::ArrowFit fit(double damping) const;
};
MagnitudeEquations equations_at(const MagnitudeProblem& problem, const Eigen::VectorXd& unknowns);

/// The same equations as a full matrix: one row per datum, one column per unknown.
struct MagnitudeRows {
  Eigen::MatrixXd slopes;
  Eigen::VectorXd residuals;
};
MagnitudeRows rows_at(const MagnitudeProblem& problem, const Eigen::VectorXd& unknowns);

/// Minimises χ² by Levenberg–Marquardt, starting from `unknowns` and updating them. Returns χ².
double descend(const MagnitudeProblem& problem, Eigen::VectorXd& unknowns, int iterations = kDescendToTheEnd);

}  // namespace evenwall::internal::solve
