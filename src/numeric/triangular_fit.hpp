// SPDX-License-Identifier: GPL-3.0-or-later
// Least squares of many rows and few unknowns, taken in row by row: only a triangle is kept.
#pragma once

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// Minimises |values − slopes·unknowns|² over all rows added so far, by Householder's QR folded into the triangle in blocks of rows.
///
/// Rows × unknowns² operations, unknowns² memory. Errors are of the rounding of the values' length, in units of the unknowns' standard
/// deviations: where values are large beside what is left of them, subtract a first solution and add its like to the answer.
/// Source: G. H. Golub, Numerische Mathematik 7, 1965; row by row after C. L. Lawson, R. J. Hanson, 1974, chapter 27 (from memory).
class TriangularFit {
 public:
  explicit TriangularFit(Eigen::Index unknowns);

  /// slopes: `unknowns` of them, one in `stride` doubles; each row over its standard uncertainty.
  void add(const double* slopes, double value, Eigen::Index stride = 1);

  /// Takes in what is still waiting. The queries below need it after the last `add`.
  void finish();

  [[nodiscard]] Eigen::Index unknowns() const { return triangle_.rows(); }
  [[nodiscard]] Eigen::Index rows() const { return rows_; }
  /// Requires of the next three: at least as many rows as unknowns, full rank.
  [[nodiscard]] Eigen::VectorXd coefficients() const;
  /// R⁻¹: its product with its own transpose is the covariance.
  [[nodiscard]] Eigen::MatrixXd inverse_root() const;
  /// ln |RᵀR|
  [[nodiscard]] double log_determinant() const;
  [[nodiscard]] double sum_of_squares() const { return sum_of_squares_; }  ///< of the residuals

 private:
  void fold();

  Eigen::MatrixXd triangle_;  ///< R and, in the last column, what it equals
  Eigen::MatrixXd waiting_;   ///< rows not yet in
  Eigen::Index waiting_rows_ = 0;
  Eigen::Index rows_ = 0;
  double sum_of_squares_ = 0;
};

}  // namespace evenwall::internal::numeric
