// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/shared_covariance.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "numeric/linear_algebra.hpp"

namespace evenwall::internal::numeric {

SharedCovariance::SharedCovariance(Eigen::VectorXd own, Eigen::MatrixXd root) : own_(std::move(own)), root_(std::move(root)) {}

SharedCovariance SharedCovariance::of_dense(const Eigen::MatrixXd& dense) {
  const Eigen::Index n = dense.rows();
  const PivotedFactor factor(dense);  // pivoted, so it also works for a singular matrix
  Eigen::MatrixXd root = factor.unscaled_root();
  const Eigen::VectorXd pivots = factor.pivots();
  for (Eigen::Index k = 0; k < n; ++k) root.col(k) *= std::sqrt(std::max(0.0, pivots[k]));
  Eigen::Index causes = n;
  while (causes > 0 && (root.col(causes - 1).array() == 0).all()) --causes;
  return {Eigen::VectorXd::Zero(n), factor.in_order(root.leftCols(causes))};
}

Eigen::MatrixXd SharedCovariance::block(Eigen::Index row, Eigen::Index column, Eigen::Index rows, Eigen::Index columns) const {
  Eigen::MatrixXd written = times_transposed(root_.middleRows(row, rows), root_.middleRows(column, columns));
  for (Eigen::Index i = 0; i < rows; ++i) {
    if (const Eigen::Index k = row + i - column; k >= 0 && k < columns) written(i, k) += own_[row + i];
  }
  return written;
}

}  // namespace evenwall::internal::numeric
