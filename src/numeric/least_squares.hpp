// Linear least squares: what every fit of `solve` stands on.
#pragma once

#include "numeric/matrix.hpp"

namespace evenwall {

struct LeastSquaresFit {
  Eigen::VectorXd coefficients;
  Eigen::MatrixXd covariance;  ///< of the coefficients, where each row has an error of standard deviation 1
  double sum_of_squares = 0;   ///< of the residuals
};

/// Minimises |values − design·coefficients|² by QR, columns brought to one length first, refined in extended precision.
///
/// design: rows × columns, each row over its standard uncertainty; values: likewise.
/// Requires: rows ≥ columns; full column rank (where it lacks, coefficients are not finite or mean nothing).
/// Source: Å. Björck, BIT 7, 1967, iterative refinement of linear least squares solutions (from memory).
/// Accuracy: 11 digits or more of NIST's reference problems, 9 of Filip (tests/published/regression_test.cpp).
LeastSquaresFit least_squares(const Eigen::MatrixXd& design, const Eigen::VectorXd& values);

}  // namespace evenwall
