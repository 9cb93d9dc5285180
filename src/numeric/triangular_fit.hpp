// SPDX-License-Identifier: GPL-3.0-or-later
// Solves least squares of many rows and few unknowns row by row; only a triangle is kept.
#pragma once

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// Minimises |values − slopes·unknowns|² over all rows added so far, by Householder's QR folded into the triangle in blocks of rows.
///
/// Takes rows × unknowns² operations and unknowns² of memory. In units of the unknowns' standard deviations, errors are as large as the
/// rounding of the values' length. If values are large compared with the residuals, subtract a first solution and add it to the answer.
/// Source: G. H. Golub, Numerische Mathematik 7, 1965; row by row after C. L. Lawson, R. J. Hanson, 1974, chapter 27 (from memory).
class TriangularFit {
 public:
  explicit TriangularFit(Eigen::Index unknowns);

  /// slopes: `unknowns` of them, one in `stride` doubles; each row is divided by its standard uncertainty.
  void add(const double* slopes, double value, Eigen::Index stride = 1);

  /// Folds in the rows that are still waiting. Call it after the last `add` and before the queries below.
  void finish();

  [[nodiscard]] Eigen::Index unknowns() const { return triangle_.rows(); }
  [[nodiscard]] Eigen::Index rows() const { return rows_; }
  /// Requires, for the next three functions: at least as many rows as unknowns, full rank.
  [[nodiscard]] Eigen::VectorXd coefficients() const;
  /// R⁻¹: its product with its own transpose is the covariance.
  [[nodiscard]] Eigen::MatrixXd inverse_root() const;
  /// ln |RᵀR|
  [[nodiscard]] double log_determinant() const;
  [[nodiscard]] double sum_of_squares() const { return sum_of_squares_; }  ///< of the residuals

 private:
  void fold();

  Eigen::MatrixXd triangle_;  ///< R and, in the last column, the right-hand side
  Eigen::MatrixXd waiting_;   ///< rows not yet folded in
  Eigen::Index waiting_rows_ = 0;
  Eigen::Index rows_ = 0;
  double sum_of_squares_ = 0;
};

}  // namespace evenwall::internal::numeric
