// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the prior distributions of a record's lean, and computes the posterior that a passage gives.
#pragma once

#include "numeric/harmonic_prior.hpp"

namespace evenwall::internal::measure {

/// The ratio along the lean at one speed, averaged over the priors.
struct SpeedAnswer {
  double mean = 0;
  double noise_variance = 0;
  double groove_variance = 0;  ///< from the lean's prior; includes the spread of the mean between the priors
  double log_evidence = 0;
  numeric::HarmonicPrior prior;  ///< the most probable prior; the members below are its results
  Eigen::VectorXd coefficients;
  double noise_at_best = 0, prior_at_best = 0;
};

/// information, pull: normal equations of the real part, divided by the noise variance.
SpeedAnswer answer_along(const Eigen::MatrixXd& information, const Eigen::VectorXd& pull);

/// The same for the direction across the lean.
using AcrossAnswer = SpeedAnswer;

/// Across the lean the ratio may follow the same course at a share of its magnitude. The share is weighed by the evidence across the lean
/// alone. direction_seen: the direction of the lean was measured, so that the largest share is excluded.
AcrossAnswer answer_across(const Eigen::MatrixXd& information, const Eigen::VectorXd& pull, const numeric::HarmonicPrior& along,
                           bool direction_seen);

}  // namespace evenwall::internal::measure
