// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/linear_algebra.hpp"

#include <cassert>
#include <cmath>

namespace evenwall::internal::numeric {

using Eigen::MatrixXd;
using Eigen::VectorXd;

MatrixXd times(const MatrixXd& a, const MatrixXd& b) { return a * b; }
VectorXd times_vector(const MatrixXd& a, const VectorXd& b) { return a * b; }
VectorXd transposed_times_vector(const MatrixXd& a, const VectorXd& b) { return a.transpose() * b; }
MatrixXd times_transposed(const MatrixXd& a, const MatrixXd& b) { return a * b.transpose(); }
MatrixXd congruent(const MatrixXd& by, const MatrixXd& matrix) { return times_transposed(times(by, matrix), by); }

MatrixXd outer_product(const VectorXd& a, const VectorXd& b) {
  MatrixXd product(a.size(), b.size());
  for (Eigen::Index k = 0; k < b.size(); ++k) product.col(k) = a * b[k];
  return product;
}

MatrixXd weighted_square(const MatrixXd& rows, const VectorXd& weights) {
  assert(weights.size() == rows.rows());
  MatrixXd turned(rows.cols(), rows.rows());
  for (Eigen::Index i = 0; i < rows.rows(); ++i) {
    for (Eigen::Index k = 0; k < rows.cols(); ++k) turned(k, i) = rows(i, k) * weights[i];
  }
  return times(turned, rows);
}

MatrixXd scaled_rows(const VectorXd& scales, const MatrixXd& rows) {
  assert(scales.size() == rows.rows());
  MatrixXd scaled = rows;
  for (Eigen::Index k = 0; k < rows.cols(); ++k) {
    for (Eigen::Index i = 0; i < rows.rows(); ++i) scaled(i, k) *= scales[i];
  }
  return scaled;
}

double dot(const VectorXd& a, const VectorXd& b) { return a.dot(b); }
double quadratic_form(const MatrixXd& matrix, const VectorXd& vector) { return vector.dot(times_vector(matrix, vector)); }

PositiveFactor::PositiveFactor(const MatrixXd& matrix) : factor_(matrix) {}
bool PositiveFactor::positive() const { return factor_.info() == Eigen::Success; }
VectorXd PositiveFactor::solve(const VectorXd& right) const { return factor_.solve(right); }
MatrixXd PositiveFactor::inverse() const { return factor_.solve(MatrixXd(MatrixXd::Identity(factor_.rows(), factor_.cols()))); }
double PositiveFactor::diagonal(Eigen::Index row) const { return factor_.matrixLLT()(row, row); }
double PositiveFactor::log_determinant() const { return 2 * factor_.matrixLLT().diagonal().array().log().sum(); }

PivotedFactor::PivotedFactor(const MatrixXd& matrix) : factor_(matrix) {}
VectorXd PivotedFactor::solve(const VectorXd& right) const { return factor_.solve(right); }

Eigen::VectorXcd PivotedFactor::solve(const Eigen::VectorXcd& right) const {
  const VectorXd re = solve(VectorXd(right.real())), im = solve(VectorXd(right.imag()));
  Eigen::VectorXcd solved(right.size());
  for (Eigen::Index k = 0; k < solved.size(); ++k) solved[k] = {re[k], im[k]};
  return solved;
}

MatrixXd PivotedFactor::inverse() const { return factor_.solve(MatrixXd(MatrixXd::Identity(factor_.rows(), factor_.cols()))); }
VectorXd PivotedFactor::pivots() const { return factor_.vectorD(); }
MatrixXd PivotedFactor::unscaled_root() const { return factor_.matrixL(); }
MatrixXd PivotedFactor::in_order(const MatrixXd& rows) const { return factor_.transpositionsP().transpose() * rows; }

}  // namespace evenwall::internal::numeric
