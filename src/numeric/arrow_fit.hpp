// SPDX-License-Identifier: GPL-3.0-or-later
// Solves least squares of many blocks of rows: each block has one unknown of its own, and all blocks share a few common unknowns.
#pragma once

#include <vector>

#include "numeric/shared_covariance.hpp"
#include "numeric/triangular_fit.hpp"

namespace evenwall::internal::numeric {

/// The information matrix of such data is an arrow: a diagonal, bordered by the common unknowns. A Householder reflection eliminates each
/// block's own unknown from its rows, and the remaining rows join one small triangle. This costs blocks × common² operations; a dense fit
/// takes blocks³.
///
/// Requires: each row is divided by its standard uncertainty; each block determines its own unknown; full rank.
/// Accuracy: as dense least squares (compared in tests/unit/numeric/arrow_fit_test.cpp).
class ArrowFit {
 public:
  ArrowFit(Eigen::Index blocks, Eigen::Index common);

  /// Adds one row to the current block: the slope of its own unknown, the slopes of the `common` common unknowns, and the value.
  void add(double own_slope, const double* common_slopes, double value);
  /// Ends the current block, which consists of the rows added since the last call. Its own unknown is the next one.
  void end_block();
  /// Adds a row that contains no block's own unknown.
  void add_common(const double* slopes, double value);

  struct Coefficients {
    Eigen::VectorXd own;  ///< in the order of the blocks
    Eigen::VectorXd common;
  };
  /// Requires, for the next three functions: all blocks are ended.
  [[nodiscard]] Coefficients coefficients();
  /// Covariance of (own, common).
  [[nodiscard]] SharedCovariance covariance();
  /// ln of the information matrix's determinant.
  [[nodiscard]] double log_determinant();

  [[nodiscard]] Eigen::Index rows() const { return rows_; }
  [[nodiscard]] double squares_of_values() const { return squares_of_values_; }  ///< Σ values²: χ² if the values are residuals

 private:
  Eigen::Index width_;           ///< own slope, common slopes, value
  std::vector<double> block_;    ///< rows of the current block, one after the other
  std::vector<double> reflect_;  ///< scratch: one row
  Eigen::VectorXd own_root_;     ///< R's diagonal element of each block's own unknown
  Eigen::MatrixXd border_;       ///< rest of R's row: common slopes and value, one column per block
  Eigen::Index ended_ = 0;
  TriangularFit common_;
  Eigen::Index rows_ = 0;
  double squares_of_values_ = 0;
};

}  // namespace evenwall::internal::numeric
