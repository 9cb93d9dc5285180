// SPDX-License-Identifier: GPL-3.0-or-later
// Each product and solution is compared with sums that are written out here.
#include "numeric/linear_algebra.hpp"

#include <cmath>

#include "support/catch.hpp"

namespace {

using namespace evenwall::internal::numeric;
using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

MatrixXd matrix(Index rows, Index columns, double seed) {
  MatrixXd m(rows, columns);
  for (Index i = 0; i < rows; ++i) {
    for (Index k = 0; k < columns; ++k) m(i, k) = std::sin(seed + 1.7 * static_cast<double>(i) + 0.9 * static_cast<double>(i * k + k));
  }
  return m;
}

VectorXd vector(Index size, double seed) { return matrix(size, 1, seed).col(0); }

/// Σ_k a(i, k) b(k, j)
MatrixXd summed(const MatrixXd& a, const MatrixXd& b) {
  REQUIRE(a.cols() == b.rows());
  MatrixXd product = MatrixXd::Zero(a.rows(), b.cols());
  for (Index i = 0; i < a.rows(); ++i) {
    for (Index j = 0; j < b.cols(); ++j) {
      for (Index k = 0; k < a.cols(); ++k) product(i, j) += a(i, k) * b(k, j);
    }
  }
  return product;
}

void require_equal(const MatrixXd& a, const MatrixXd& b) {
  REQUIRE(a.rows() == b.rows());
  REQUIRE(a.cols() == b.cols());
  for (Index i = 0; i < a.rows(); ++i) {
    for (Index k = 0; k < a.cols(); ++k) CHECK_THAT(a(i, k), WithinAbs(b(i, k), 1e-12));
  }
}

MatrixXd turned(const MatrixXd& m) {
  MatrixXd other(m.cols(), m.rows());
  for (Index i = 0; i < m.rows(); ++i) {
    for (Index k = 0; k < m.cols(); ++k) other(k, i) = m(i, k);
  }
  return other;
}

TEST_CASE("Products of matrices equal the sums written out, small and large") {
  for (const Index n : {Index{2}, Index{5}, Index{40}}) {
    const MatrixXd a = matrix(n, n + 3, 0.3), b = matrix(n + 3, n + 1, 1.1), c = matrix(n + 2, n + 3, 2.0);
    const VectorXd v = vector(n + 3, 0.4), w = vector(n, 0.9);
    require_equal(times(a, b), summed(a, b));
    require_equal(times_vector(a, v), summed(a, v));
    require_equal(transposed_times_vector(a, w), summed(turned(a), w));
    require_equal(times_transposed(a, c), summed(a, turned(c)));
    require_equal(outer_product(v, w), summed(v, turned(w)));
    require_equal(scaled_rows(w, a), summed(MatrixXd(w.asDiagonal()), a));
    require_equal(weighted_square(a, w), summed(turned(a), summed(MatrixXd(w.asDiagonal()), a)));
    const MatrixXd square = matrix(n + 3, n + 3, 0.6);
    require_equal(congruent(a, square), summed(a, summed(square, turned(a))));
    CHECK_THAT(quadratic_form(square, v), WithinAbs(summed(turned(v), summed(square, v))(0, 0), 1e-12));
    CHECK_THAT(dot(v, v), WithinAbs(summed(turned(v), v)(0, 0), 1e-12));
  }
}

TEST_CASE("The Cholesky factor solves, inverts and has the determinant of a matrix that is known") {
  MatrixXd a(2, 2);
  a << 4, 2, 2, 10;  // the determinant is 36
  const PositiveFactor factor(a);
  CHECK(factor.positive());
  require_equal(summed(a, factor.solve(vector(2, 0.2))), vector(2, 0.2));
  require_equal(summed(a, factor.inverse()), MatrixXd::Identity(2, 2));
  CHECK_THAT(factor.diagonal(0), WithinAbs(2, 1e-14));
  CHECK_THAT(factor.diagonal(1), WithinAbs(3, 1e-14));
  CHECK_THAT(factor.log_determinant(), WithinAbs(std::log(36.0), 1e-14));
  a(1, 1) = 0.9;
  CHECK_FALSE(PositiveFactor(a).positive());
}

TEST_CASE("The pivoted factor solves and inverts, and gives the parts that make the matrix") {
  const MatrixXd rows = matrix(9, 4, 0.8);
  const MatrixXd a = summed(turned(rows), rows);
  const PivotedFactor factor(a);
  require_equal(summed(a, factor.solve(vector(4, 0.2))), vector(4, 0.2));
  require_equal(summed(a, factor.inverse()), MatrixXd::Identity(4, 4));
  const VectorXd pivots = factor.pivots();
  for (Index k = 0; k < pivots.size(); ++k) CHECK(pivots[k] > 0);
  const MatrixXd root = factor.in_order(factor.unscaled_root());
  require_equal(summed(root, summed(MatrixXd(pivots.asDiagonal()), turned(root))), a);
}

TEST_CASE("The pivoted factor solves real and imaginary parts alike") {
  const MatrixXd rows = matrix(7, 3, 1.4);
  const PivotedFactor factor(summed(turned(rows), rows));
  Eigen::VectorXcd right(3);
  for (Index k = 0; k < 3; ++k) right[k] = {vector(3, 0.1)[k], vector(3, 0.5)[k]};
  const Eigen::VectorXcd solved = factor.solve(right);
  require_equal(solved.real(), factor.solve(vector(3, 0.1)));
  require_equal(solved.imag(), factor.solve(vector(3, 0.5)));
}

TEST_CASE("A direction without information solves to zero") {
  MatrixXd a = MatrixXd::Zero(2, 2);
  a(0, 0) = 4;
  const VectorXd solved = PivotedFactor(a).solve(VectorXd(VectorXd::Ones(2)));
  CHECK_THAT(solved[0], WithinAbs(0.25, 1e-15));
  CHECK(solved[1] == 0);
}

}  // namespace
