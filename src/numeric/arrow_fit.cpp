// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/arrow_fit.hpp"

#include <algorithm>

#include "numeric/linear_algebra.hpp"
#include "numeric/reflection.hpp"

namespace evenwall::internal::numeric {

ArrowFit::ArrowFit(Eigen::Index blocks, Eigen::Index common)
    : width_(common + 2),
      reflect_(static_cast<std::size_t>(common + 2)),
      own_root_(Eigen::VectorXd::Zero(blocks)),
      border_(Eigen::MatrixXd::Zero(common + 1, blocks)),
      common_(common) {}

void ArrowFit::add(double own_slope, const double* common_slopes, double value) {
  block_.push_back(own_slope);
  block_.insert(block_.end(), common_slopes, common_slopes + width_ - 2);
  block_.push_back(value);
  squares_of_values_ += value * value;
  ++rows_;
}

void ArrowFit::add_common(const double* slopes, double value) {
  common_.add(slopes, value);
  squares_of_values_ += value * value;
  ++rows_;
}

void ArrowFit::end_block() {
  const auto width = static_cast<std::size_t>(width_);
  const double length = reflect_first_column(block_.data(), block_.size() / width, width, width, reflect_.data());
  if (length != 0) {
    own_root_[ended_] = length;
    std::copy(block_.data() + 1, block_.data() + width, border_.col(ended_).data());
  }
  for (std::size_t at = length != 0 ? width : 0; at < block_.size(); at += width) {
    common_.add(block_.data() + at + 1, block_[at + width - 1]);
  }
  block_.clear();
  ++ended_;
}

ArrowFit::Coefficients ArrowFit::coefficients() {
  common_.finish();
  Coefficients found;
  found.common = common_.coefficients();
  const Eigen::Index common = common_.unknowns();
  const Eigen::VectorXd known = transposed_times_vector(border_.topRows(common), found.common);
  found.own = (border_.row(common).transpose() - known).cwiseQuotient(own_root_);
  return found;
}

SharedCovariance ArrowFit::covariance() {
  common_.finish();
  const Eigen::MatrixXd inverse = common_.inverse_root();
  const Eigen::Index common = common_.unknowns();
  const Eigen::Index blocks = own_root_.size();
  // R⁻¹ of the whole matrix: 1/ρ is on the diagonal, −(border/ρ)·R_common⁻¹ to its right, R_common⁻¹ below.
  Eigen::MatrixXd root(blocks + common, common);
  root.topRows(blocks) = times(scaled_rows(-own_root_.cwiseInverse(), border_.topRows(common).transpose()), inverse);
  root.bottomRows(common) = inverse;
  Eigen::VectorXd own = Eigen::VectorXd::Zero(blocks + common);
  own.head(blocks) = own_root_.cwiseAbs2().cwiseInverse();
  return {std::move(own), std::move(root)};
}

double ArrowFit::log_determinant() {
  common_.finish();
  return 2 * own_root_.cwiseAbs().array().log().sum() + common_.log_determinant();
}

}  // namespace evenwall::internal::numeric
