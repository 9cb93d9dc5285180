// SPDX-License-Identifier: GPL-3.0-or-later
// Solves linear least squares by dense matrices, refined in extended precision, as a reference for the fits of `solve`.
#pragma once

#include <Eigen/Dense>
#include <cmath>

namespace dense {

struct LeastSquaresFit {
  Eigen::VectorXd coefficients;
  Eigen::MatrixXd covariance;  ///< of the coefficients, if each row has an error of standard deviation 1
  double sum_of_squares = 0;   ///< of the residuals
};

inline constexpr int kRefinements = 2;

/// A solution and its residuals. Both are refined: if residuals are large, refining the coefficients alone would not converge.
struct Solution {
  Eigen::VectorXd x, r;
};

/// One step of Björck's refinement of [I A; Aᵀ 0]·[r; x] = [b; 0]. The remaining differences are summed in extended precision.
inline void refine(const Eigen::MatrixXd& a, const Eigen::VectorXd& b, const Eigen::HouseholderQR<Eigen::MatrixXd>& qr, Solution& s) {
  const Eigen::Index columns = a.cols();
  Eigen::VectorXd f(a.rows());
  for (Eigen::Index i = 0; i < a.rows(); ++i) {
    long double missing = static_cast<long double>(b[i]) - static_cast<long double>(s.r[i]);
    for (Eigen::Index k = 0; k < columns; ++k) missing -= static_cast<long double>(a(i, k)) * static_cast<long double>(s.x[k]);
    f[i] = static_cast<double>(missing);
  }
  Eigen::VectorXd g(columns);
  for (Eigen::Index k = 0; k < columns; ++k) {
    long double missing = 0;
    for (Eigen::Index i = 0; i < a.rows(); ++i) missing -= static_cast<long double>(a(i, k)) * static_cast<long double>(s.r[i]);
    g[k] = static_cast<double>(missing);
  }
  const auto root = qr.matrixQR().topRows(columns).triangularView<Eigen::Upper>();
  const Eigen::VectorXd h = root.transpose().solve(g);
  Eigen::VectorXd turned = qr.householderQ().adjoint() * f;
  s.x += root.solve(turned.head(columns) - h);
  turned.head(columns) = h;
  s.r += qr.householderQ() * turned;
}

/// Minimises |values − design·coefficients|² by QR. Columns are first scaled to about one length; the result is refined in extended
/// precision.
///
/// design: rows × columns, each row divided by its standard uncertainty; values: likewise.
/// Requires: rows ≥ columns; full column rank (otherwise coefficients are not finite or have no meaning).
/// Source: Å. Björck, BIT 7, 1967, iterative refinement of linear least squares solutions (from memory).
/// Accuracy: 11 digits or more of NIST's reference problems, 9 of Filip (tests/published/regression_test.cpp).
inline LeastSquaresFit least_squares(const Eigen::MatrixXd& design, const Eigen::VectorXd& values) {
  // Unknowns are in radians, nepers and pure numbers. Without scaling, rounding of the largest column would swamp the smallest one.
  Eigen::VectorXd length = design.colwise().norm();
  for (double& l : length) l = l > 0 ? std::exp2(std::round(std::log2(l))) : 1.0;  // powers of two cause no rounding
  const Eigen::MatrixXd scaled = design * length.cwiseInverse().asDiagonal();
  const Eigen::HouseholderQR<Eigen::MatrixXd> qr(scaled);
  Solution solution;
  solution.x = qr.solve(values);
  solution.r = values - scaled * solution.x;
  for (int i = 0; i < kRefinements; ++i) refine(scaled, values, qr, solution);
  const Eigen::Index columns = design.cols();
  Eigen::MatrixXd inverse_root = Eigen::MatrixXd::Identity(columns, columns);
  qr.matrixQR().topRows(columns).triangularView<Eigen::Upper>().solveInPlace(inverse_root);
  inverse_root = length.cwiseInverse().asDiagonal() * inverse_root;
  return {solution.x.cwiseQuotient(length), inverse_root * inverse_root.transpose(), solution.r.squaredNorm()};
}

}  // namespace dense
