// SPDX-License-Identifier: GPL-3.0-or-later
// Collects the rows of the signal's fit step by step, with gains that may differ between recordings.
#pragma once

#include <vector>

#include "numeric/arrow_fit.hpp"
#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

/// An ArrowFit over the steps. If recordings have gains of their own, a step has one or two more unknowns: its gain and its phase against
/// the common ones, with normal priors of the given spread. They are eliminated here, before the step's remaining rows join those of the
/// others, so the cost stays in proportion to the number of steps. A row has the same slopes by its own gain and phase as by the common
/// ones.
class StepRows {
 public:
  StepRows(Eigen::Index steps, const GainSpread& spread);

  /// Adds one row to the current step. common_slopes: kCommonSize slopes by the common unknowns.
  void add(double psi_slope, const double* common_slopes, double value);
  /// Ends the current step, which consists of the rows since the last call. ln_gain: the step's own gain at the present unknowns.
  void end_step(Complex ln_gain);
  void add_common(const double* slopes, double value);

  struct Coefficients {
    Eigen::VectorXd psi, common;
    Eigen::VectorXcd ln_gain;  ///< empty without a spread
  };
  /// The next three require that all steps have ended.
  [[nodiscard]] Coefficients coefficients();
  /// Covariance of (psi, common), with the own gains of the recordings eliminated.
  [[nodiscard]] numeric::SharedCovariance covariance() { return arrow_.covariance(); }
  /// ln determinant of the information of all unknowns, own gains in units of their spread.
  [[nodiscard]] double log_determinant();
  [[nodiscard]] Eigen::Index rows() const { return arrow_.rows(); }
  [[nodiscard]] double squares_of_values() const { return squares_of_values_; }

 private:
  numeric::ArrowFit arrow_;
  std::vector<int> own_unknowns_;  ///< common unknowns to which each recording adds a part of its own
  std::vector<double> spreads_;    ///< of each of these
  std::size_t width_;
  std::vector<double> block_, scratch_;
  std::vector<double> eliminated_;  ///< rows of R, one after the other
  double log_own_ = 0;              ///< Σ ln |R's diagonal|
  Eigen::Index ended_ = 0;
  double squares_of_values_ = 0;
};

}  // namespace evenwall::internal::solve
