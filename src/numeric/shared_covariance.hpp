// SPDX-License-Identifier: GPL-3.0-or-later
// The covariance of many quantities that share a few causes.
#pragma once

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// diag(own) + root·rootᵀ: what each quantity has of its own, and what all of them have from a few causes of variance 1.
/// Quantities × causes of memory, where the whole matrix would be quantities².
class SharedCovariance {
 public:
  SharedCovariance() = default;
  /// own: variances, one a quantity; root: quantities × causes.
  SharedCovariance(Eigen::VectorXd own, Eigen::MatrixXd root);
  /// Any covariance, written out: as many causes as its rank. Requires: symmetric, positive semidefinite. Costs quantities³.
  template <typename Derived>
  SharedCovariance(const Eigen::MatrixBase<Derived>& dense)  // NOLINT(google-explicit-constructor): the same thing, held otherwise
      : SharedCovariance(of_dense(dense)) {}

  [[nodiscard]] Eigen::Index rows() const { return own_.size(); }
  [[nodiscard]] double operator()(Eigen::Index i, Eigen::Index k) const {
    return root_.row(i).dot(root_.row(k)) + (i == k ? own_[i] : 0.0);
  }
  [[nodiscard]] Eigen::VectorXd variances() const { return own_ + root_.rowwise().squaredNorm(); }
  /// The block written out.
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
