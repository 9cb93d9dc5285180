// SPDX-License-Identifier: GPL-3.0-or-later
// Fits a complex curve over one variable that bends no more than the data require, together with a few further real terms.
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

/// Prior knowledge of the curve and the terms.
struct CurvePriors {
  double least_bend = 0;    ///< lower limit of the standard deviation of second differences of adjacent spline coefficients
  double largest_bend = 0;  ///< upper limit; in between the data decide (restricted maximum likelihood)
  double term_sd = 0;       ///< standard deviation of each further term
};

struct CurveFit {
  Eigen::VectorXcd coefficients;  ///< splines first, then the terms
  Eigen::MatrixXd covariance;     ///< of the real parts; the imaginary parts have the same, and both are uncorrelated
  double bend = 0;                ///< standard deviation of the second differences that the data determined
  double rejected_fraction = 0;   ///< share of the rows with a weight below one half
  double freedom = 0;             ///< number of real parameters that the data determine, of each part (real or imaginary)
  double dependence = 1;          ///< factor by which correlation of adjacent rows enlarges the variance of a mean
  Eigen::VectorXd scale;          ///< robust standard deviation of one part of the residuals around each row
  [[nodiscard]] std::complex<double> value(const Eigen::RowVectorXd& row) const;
  [[nodiscard]] double variance(const Eigen::RowVectorXd& row) const;
  /// Sum over the rows of |residual/scale|². A click counts as the bisquare's cut.
  [[nodiscard]] double misfit(const Eigen::VectorXd& scales, const Eigen::VectorXd& reference, const Eigen::VectorXcd& response,
                              const Eigen::MatrixXd& regressors) const;
};

/// Fits response_f = reference_f · (row_f · θ) + e_f, rows in time order. The magnitude of e changes slowly from row to row.
///
/// regressors: F×p, real; the first `splines` columns are CubicBasis values. Clicks lose their weight (bisquare). The covariance is that
/// of the posterior, so it includes what the data cannot assign to either curve or terms. It is enlarged if adjacent rows are correlated.
/// Requires: F ≥ 8, reference ≥ 0.
/// Source: docs/method.md, "Sweeps"; P. H. C. Eilers, B. D. Marx, Statistical Science 11(2), 1996, for the penalty (from memory).
CurveFit fit_curve(const Eigen::VectorXd& reference, const Eigen::VectorXcd& response, const Eigen::MatrixXd& regressors,
                   Eigen::Index splines, const CurvePriors& priors);

}  // namespace evenwall::internal::numeric
