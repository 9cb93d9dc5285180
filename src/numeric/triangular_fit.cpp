// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/triangular_fit.hpp"

#include <cmath>

namespace evenwall::internal::numeric {
namespace {

constexpr Eigen::Index kBlock = 64;  // rows folded at once: with a dozen unknowns they fit into the first-level cache
constexpr Eigen::Index kLane = 8;    // columns are folded in multiples of so many rows; the missing rows are zero
using Column = Eigen::Map<Eigen::VectorXd>;

}  // namespace

TriangularFit::TriangularFit(Eigen::Index unknowns)
    : triangle_(Eigen::MatrixXd::Zero(unknowns, unknowns + 1)), waiting_(Eigen::MatrixXd::Zero(kBlock, unknowns + 1)) {}

void TriangularFit::add(const double* slopes, double value, Eigen::Index stride) {
  for (Eigen::Index k = 0; k < unknowns(); ++k) waiting_(waiting_rows_, k) = slopes[k * stride];
  waiting_(waiting_rows_, unknowns()) = value;
  ++rows_;
  if (++waiting_rows_ == kBlock) fold();
}

void TriangularFit::finish() {
  if (waiting_rows_ > 0) fold();
}

void TriangularFit::fold() {
  const Eigen::Index n = unknowns();
  const Eigen::Index height = (waiting_rows_ + kLane - 1) / kLane * kLane;
  for (Eigen::Index k = 0; k < n; ++k) {
    const Column below(waiting_.col(k).data(), height);
    const double square = below.squaredNorm();
    if (square == 0) continue;
    // Reflects (R_kk, below) onto its first element; the sign of `length` avoids cancellation.
    const double old = triangle_(k, k);
    const double length = old > 0 ? -std::sqrt(old * old + square) : std::sqrt(old * old + square);
    const double head = old - length;
    triangle_(k, k) = length;
    for (Eigen::Index j = k + 1; j <= n; ++j) {
      Column other(waiting_.col(j).data(), height);
      const double share = (head * triangle_(k, j) + below.dot(other)) / (length * head);
      triangle_(k, j) += share * head;
      other += share * below;
    }
  }
  sum_of_squares_ += Column(waiting_.col(n).data(), height).squaredNorm();
  waiting_.topRows(height).setZero();
  waiting_rows_ = 0;
}

Eigen::VectorXd TriangularFit::coefficients() const {
  const Eigen::Index n = unknowns();
  return triangle_.leftCols(n).triangularView<Eigen::Upper>().solve(triangle_.col(n));
}

Eigen::MatrixXd TriangularFit::inverse_root() const {
  const Eigen::Index n = unknowns();
  Eigen::MatrixXd inverse = Eigen::MatrixXd::Identity(n, n);
  triangle_.leftCols(n).triangularView<Eigen::Upper>().solveInPlace(inverse);
  return inverse;
}

double TriangularFit::log_determinant() const { return 2 * triangle_.diagonal().cwiseAbs().array().log().sum(); }

}  // namespace evenwall::internal::numeric
