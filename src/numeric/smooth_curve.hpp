// SPDX-License-Identifier: GPL-3.0-or-later
// A complex curve over one variable that bends no more than the data ask for, with a few other real terms beside it.
#pragma once

#include <complex>
#include <vector>

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// Uniform cubic B-splines over [low, high]; their sum is 1 everywhere between.
class CubicBasis {
 public:
  /// Knots at most `spacing` apart. Requires: low < high, spacing > 0.
  CubicBasis(double low, double high, double spacing);
  [[nodiscard]] Eigen::Index size() const { return pieces_ + 3; }
  /// Values of all splines at x; x outside [low, high] counts as the nearer end.
  [[nodiscard]] Eigen::RowVectorXd at(double x) const;

 private:
  double low_;
  double step_;
  Eigen::Index pieces_;
};

/// What is known beforehand of curve and terms.
struct CurvePriors {
  double least_bend = 0;    ///< standard deviation of second differences of neighbouring spline coefficients: no less than this
  double largest_bend = 0;  ///< and no more; in between the data say (restricted maximum likelihood)
  double term_sd = 0;       ///< standard deviation of each further term
};

struct CurveFit {
  Eigen::VectorXcd coefficients;  ///< splines first, then the terms
  Eigen::MatrixXd covariance;     ///< of the real parts; the imaginary parts have the same, and the two are uncorrelated
  double bend = 0;                ///< what the data asked for
  double rejected_fraction = 0;   ///< rows whose weight fell below one half
  [[nodiscard]] std::complex<double> value(const Eigen::RowVectorXd& row) const;
  [[nodiscard]] double variance(const Eigen::RowVectorXd& row) const { return (row * covariance * row.transpose())(0, 0); }
};

/// Fits response_f = reference_f · (row_f · θ) + e_f, rows in time order, e of a size that changes slowly from row to row.
///
/// regressors: F×p, real; the first `splines` columns are CubicBasis values. Clicks lose their weight (bisquare); the covariance is that
/// of the posterior, so what curve and terms can't tell from each other is in it, enlarged where neighbouring rows hang together.
/// Requires: F ≥ 8, reference ≥ 0.
/// Source: docs/method.md, "Sweeps"; P. H. C. Eilers, B. D. Marx, Statistical Science 11(2), 1996, for the penalty (from memory).
CurveFit fit_curve(const Eigen::VectorXd& reference, const Eigen::VectorXcd& response, const Eigen::MatrixXd& regressors,
                   Eigen::Index splines, const CurvePriors& priors);

}  // namespace evenwall::internal::numeric
