// SPDX-License-Identifier: GPL-3.0-or-later
// Estimates a constant in the presence of harmonics of the revolution that have normal priors, and the evidence of those priors.
#pragma once

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// Both parts of the k-th harmonic have the standard deviation size / k^fall. Requires: size > 0.
struct HarmonicPrior {
  double size = 0;
  double fall = 0;
};

/// Posterior under one prior, from the normal equations of a constant (column 0, flat prior) and H harmonics (cosine and sine of
/// each, one after the other).
struct HarmonicAnswer {
  Eigen::VectorXd coefficients;  ///< posterior means
  double noise_variance = 0;     ///< variance of the constant caused by the noise in the data
  double prior_variance = 0;     ///< variance of the constant caused by harmonics that the data do not determine
  double log_evidence = 0;       ///< less a constant that is common to all priors
};

/// information, pull: XᵀWX/σ² and XᵀWy/σ². Requires: 1 + 2H columns, the constant's information above 0.
/// Source: docs/method.md, "The lean of the record". The covariance of a posterior mean under data noise is H⁻¹NH⁻¹, and H⁻¹ΛH⁻¹ under the
/// prior.
HarmonicAnswer harmonic_answer(const Eigen::MatrixXd& information, const Eigen::VectorXd& pull, const HarmonicPrior& prior);

/// Diagonal of the prior's precision; 0 for the constant.
Eigen::VectorXd harmonic_precision(Eigen::Index columns, const HarmonicPrior& prior);

/// Inverse of the posterior's precision. Its column 0 gives the influence of each row of data on the constant.
Eigen::MatrixXd harmonic_covariance(const Eigen::MatrixXd& information, const HarmonicPrior& prior);

}  // namespace evenwall::internal::numeric
