// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the covariance of many quantities that share a few causes.
#pragma once

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// diag(own) + root·rootᵀ: each quantity's own variance, plus the covariance from a few common causes of variance 1.
/// Takes quantities × causes of memory; the whole matrix would take quantities².
class SharedCovariance {
 public:
  SharedCovariance() = default;
  /// own: variances, one per quantity; root: quantities × causes.
  SharedCovariance(Eigen::VectorXd own, Eigen::MatrixXd root);
  /// From any dense covariance; it gets as many causes as its rank. Requires: symmetric, positive semidefinite. Costs quantities³.
  template <typename Derived>
  SharedCovariance(const Eigen::MatrixBase<Derived>& dense)  // NOLINT(google-explicit-constructor): the same matrix in another form
      : SharedCovariance(of_dense(dense)) {}

  [[nodiscard]] Eigen::Index rows() const { return own_.size(); }
  [[nodiscard]] double operator()(Eigen::Index i, Eigen::Index k) const {
    return root_.row(i).dot(root_.row(k)) + (i == k ? own_[i] : 0.0);
  }
  [[nodiscard]] Eigen::VectorXd variances() const { return own_ + root_.rowwise().squaredNorm(); }
  /// The block as a dense matrix.
  [[nodiscard]] Eigen::MatrixXd block(Eigen::Index row, Eigen::Index column, Eigen::Index rows, Eigen::Index columns) const;
  [[nodiscard]] Eigen::MatrixXd top_left_corner(Eigen::Index rows, Eigen::Index columns) const { return block(0, 0, rows, columns); }
  [[nodiscard]] Eigen::MatrixXd bottom_right_corner(Eigen::Index size) const { return block(rows() - size, rows() - size, size, size); }
  [[nodiscard]] const Eigen::VectorXd& own() const { return own_; }
  [[nodiscard]] const Eigen::MatrixXd& root() const { return root_; }

 private:
  static SharedCovariance of_dense(const Eigen::MatrixXd& dense);

  Eigen::VectorXd own_;
  Eigen::MatrixXd root_;
};

}  // namespace evenwall::internal::numeric
