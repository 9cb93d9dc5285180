// SPDX-License-Identifier: GPL-3.0-or-later
// Products and factors of plain matrices, compiled once. Eigen compiles a product anew for each kind of operand (a block, a transposed
// one, a part of complex numbers) and in each place, which took a third of the time of a first build. Use these functions if an operand
// is small, or is a plain matrix.
#pragma once

#include <Eigen/Cholesky>
#include <Eigen/Core>

namespace evenwall::internal::numeric {

Eigen::MatrixXd times(const Eigen::MatrixXd& a, const Eigen::MatrixXd& b);                     ///< a b
Eigen::VectorXd times_vector(const Eigen::MatrixXd& a, const Eigen::VectorXd& b);              ///< a b
Eigen::VectorXd transposed_times_vector(const Eigen::MatrixXd& a, const Eigen::VectorXd& b);   ///< aᵀ b
Eigen::MatrixXd times_transposed(const Eigen::MatrixXd& a, const Eigen::MatrixXd& b);          ///< a bᵀ
Eigen::MatrixXd outer_product(const Eigen::VectorXd& a, const Eigen::VectorXd& b);             ///< a bᵀ
Eigen::MatrixXd weighted_square(const Eigen::MatrixXd& rows, const Eigen::VectorXd& weights);  ///< rowsᵀ diag(weights) rows
Eigen::MatrixXd scaled_rows(const Eigen::VectorXd& scales, const Eigen::MatrixXd& rows);       ///< diag(scales) rows
double dot(const Eigen::VectorXd& a, const Eigen::VectorXd& b);                                ///< aᵀ b
Eigen::MatrixXd congruent(const Eigen::MatrixXd& by, const Eigen::MatrixXd& matrix);           ///< by matrix byᵀ
double quadratic_form(const Eigen::MatrixXd& matrix, const Eigen::VectorXd& vector);           ///< vectorᵀ (matrix vector)

/// The Cholesky factor L of a symmetric positive definite matrix A = L Lᵀ. Only the lower triangle of A is read.
class PositiveFactor {
 public:
  explicit PositiveFactor(const Eigen::MatrixXd& matrix);
  [[nodiscard]] bool positive() const;  ///< false if the matrix is not positive definite; no other result is then valid
  [[nodiscard]] Eigen::VectorXd solve(const Eigen::VectorXd& right) const;
  [[nodiscard]] Eigen::MatrixXd inverse() const;
  [[nodiscard]] double diagonal(Eigen::Index row) const;  ///< of L; the determinant of A is the product of their squares
  [[nodiscard]] double log_determinant() const;           ///< of A

 private:
  Eigen::LLT<Eigen::MatrixXd> factor_;
};

/// The factors A = Pᵀ L D Lᵀ P of a symmetric positive semidefinite matrix. Directions without information solve to zero.
class PivotedFactor {
 public:
  explicit PivotedFactor(const Eigen::MatrixXd& matrix);
  [[nodiscard]] Eigen::VectorXd solve(const Eigen::VectorXd& right) const;
  [[nodiscard]] Eigen::VectorXcd solve(const Eigen::VectorXcd& right) const;
  [[nodiscard]] Eigen::MatrixXd inverse() const;
  [[nodiscard]] Eigen::VectorXd pivots() const;         ///< the diagonal of D
  [[nodiscard]] Eigen::MatrixXd unscaled_root() const;  ///< L
  /// Pᵀ rows: undoes the exchange of rows.
  [[nodiscard]] Eigen::MatrixXd in_order(const Eigen::MatrixXd& rows) const;

 private:
  Eigen::LDLT<Eigen::MatrixXd> factor_;
};

}  // namespace evenwall::internal::numeric
