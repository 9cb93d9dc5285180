// SPDX-License-Identifier: GPL-3.0-or-later
// The rows of the signal's fit, step by step, with gains that may be each recording's own.
#pragma once

#include <vector>

#include "numeric/arrow_fit.hpp"
#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

/// An ArrowFit over the steps. If recordings have gains of their own, a step has one or two more unknowns: its gain and its phase against
/// the common ones, with normal priors of the given spread. They are eliminated from the step's rows here, before the rest joins the
/// others: the cost stays in proportion to the number of steps. A row's slopes by them are those by the common gain and phase.
class StepRows {
 public:
  StepRows(Eigen::Index steps, const GainSpread& spread);

  /// One row of a step in the making; slopes by the common unknowns: kCommonSize of them.
  void add(double psi_slope, const double* common_slopes, double value);
  /// The rows since the last call make a step. ln_gain: its own gain where the unknowns stand.
  void end_step(Complex ln_gain);
  void add_common(const double* slopes, double value);

  struct Coefficients {
    Eigen::VectorXd psi, common;
    Eigen::VectorXcd ln_gain;  ///< empty without a spread
  };
  /// Requires of the next three: all steps ended.
  [[nodiscard]] Coefficients coefficients();
  /// Of (psi, common), whatever the gains of the recordings are.
  [[nodiscard]] numeric::SharedCovariance covariance() { return arrow_.covariance(); }
  /// Of all unknowns, own gains in units of their spread.
  [[nodiscard]] double log_determinant();
  [[nodiscard]] Eigen::Index rows() const { return arrow_.rows(); }
  [[nodiscard]] double squares_of_values() const { return squares_of_values_; }

 private:
  numeric::ArrowFit arrow_;
  std::vector<int> own_unknowns_;  ///< common unknowns that a recording has a part of
  std::vector<double> spreads_;    ///< of each
  std::size_t width_;
  std::vector<double> block_, scratch_;
  std::vector<double> eliminated_;  ///< rows of R, one after the other
  double log_own_ = 0;              ///< Σ ln |R's diagonal|
  Eigen::Index ended_ = 0;
  double squares_of_values_ = 0;
};

}  // namespace evenwall::internal::solve
