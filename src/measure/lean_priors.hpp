// SPDX-License-Identifier: GPL-3.0-or-later
// What a record's lean may be before it is heard, and what a passage makes of it.
#pragma once

#include "numeric/harmonic_prior.hpp"

namespace evenwall::internal::measure {

/// The ratio along the lean at one speed, averaged over the priors.
struct SpeedAnswer {
  double mean = 0;
  double noise_variance = 0;
  double groove_variance = 0;  ///< of what the lean may hide, the priors' own disagreement with it
  double log_evidence = 0;
  numeric::HarmonicPrior prior;  ///< the likeliest, with what it gives:
  Eigen::VectorXd coefficients;
  double noise_at_best = 0, prior_at_best = 0;
};

/// information, pull: normal equations of the real part, over the noise's variance.
SpeedAnswer answer_along(const Eigen::MatrixXd& information, const Eigen::VectorXd& pull);

/// Likewise across the lean.
using AcrossAnswer = SpeedAnswer;

/// Across the lean the same course goes on at a share of its size, whose evidence is its own business.
AcrossAnswer answer_across(const Eigen::MatrixXd& information, const Eigen::VectorXd& pull, const numeric::HarmonicPrior& along,
                           bool direction_seen);

}  // namespace evenwall::internal::measure
