// SPDX-License-Identifier: GPL-3.0-or-later
// Least squares of many blocks of rows, each with one unknown of its own, all with a few in common.
#pragma once

#include <vector>

#include "numeric/shared_covariance.hpp"
#include "numeric/triangular_fit.hpp"

namespace evenwall::internal::numeric {

/// The information matrix of such data is an arrow: a diagonal, bordered by the common unknowns. Each block's own unknown is reflected out
/// of its rows (Householder), what is left of them joins one small triangle: blocks × common² operations where a dense fit takes blocks³.
///
/// Requires: rows over their standard uncertainties; each block tells something of its own unknown; full rank.
/// Accuracy: as dense least squares, which is what it is held against (tests/unit/numeric/arrow_fit_test.cpp).
class ArrowFit {
 public:
  ArrowFit(Eigen::Index blocks, Eigen::Index common);

  /// One row of a block in the making: its own unknown's slope, the common unknowns' (`common` of them), the value.
  void add(double own_slope, const double* common_slopes, double value);
  /// The rows added since the last call make a block: its own unknown is the next one.
  void end_block();
  /// A row that no block's own unknown is in.
  void add_common(const double* slopes, double value);

  struct Coefficients {
    Eigen::VectorXd own;  ///< in the order of the blocks
    Eigen::VectorXd common;
  };
  /// Requires of the next three: all blocks ended.
  [[nodiscard]] Coefficients coefficients();
  /// Of (own, common).
  [[nodiscard]] SharedCovariance covariance();
  /// ln of the information matrix's determinant.
  [[nodiscard]] double log_determinant();

  [[nodiscard]] Eigen::Index rows() const { return rows_; }
  [[nodiscard]] double squares_of_values() const { return squares_of_values_; }  ///< Σ values²: χ² where the values are residuals

 private:
  Eigen::Index width_;           ///< own slope, common slopes, value
  std::vector<double> block_;    ///< rows of the block in the making, one after the other
  std::vector<double> reflect_;  ///< scratch: one row
  Eigen::VectorXd own_root_;     ///< R's diagonal of each block's own unknown
  Eigen::MatrixXd border_;       ///< R's rows beside it: common slopes and value, one column a block
  Eigen::Index ended_ = 0;
  TriangularFit common_;
  Eigen::Index rows_ = 0;
  double squares_of_values_ = 0;
};

}  // namespace evenwall::internal::numeric
