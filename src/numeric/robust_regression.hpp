// SPDX-License-Identifier: GPL-3.0-or-later
// Fits a slowly varying complex ratio between two channels so that clicks and dropouts do not count.
#pragma once

#include <complex>
#include <vector>

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// Whether residuals scatter in the complex plane or on the real axis only.
enum class Scatter { kComplex, kReal };

/// The sequence of weights: Huber steps start the bisquare near the true value, then bisquare steps follow until the fit has settled.
///
/// The method uses the defaults; other values are for textbook examples. huber_steps = 0 and bisquare_cut = ∞ give plain least squares,
/// bisquare_steps = 0 gives Huber's estimate.
struct RobustScheme {
  double huber_corner = 0.3;  ///< residual scales; a corner this low smoothly approximates least absolute residuals
  int huber_steps = 8;        ///< at most
  double bisquare_cut = 6.0;  ///< residual scales; 6 gives 1.03 of the bound on clean noise and still excludes every click
  int bisquare_steps = 30;    ///< at most
  double settled = 1e-5;      ///< standard errors: a step that moves the coefficients by less is the last; Huber steps that only start a
                              ///< bisquare end at 0.01 or more
};

struct RobustFit {
  Eigen::VectorXcd coefficients;
  Eigen::Matrix2d covariance;     ///< of (Re, Im) of coefficient 0
  double degrees_of_freedom = 0;  ///< of that covariance
  double residual_scale = 0;      ///< of one part of one frame's residual
  double rejected_fraction = 0;   ///< share of the frames with a weight below one half
};

/// Fits response_f = reference_f · Σ_k x_fk·θ_k + e_f by iteratively reweighted least squares (bisquare), frames in time order.
///
/// reference, response: F frames. regressors: F×p, real, column 0 all ones. frames_per_block: frames with errors that may be correlated
/// (overlap, noise colour). The covariance comes from sums of the influence over consecutive blocks of that many frames.
/// Requires: F ≥ 2p, frames_per_block ≥ 1. Throws: nothing of its own.
/// Accuracy: on white noise 1.03 times the variance of the bound; stated standard deviation within 3 % (tests/truth).
/// Source: docs/method.md, "Noise bands"; Huber & Ronchetti, Robust Statistics, 2nd ed., section 7.6 (from memory) for the covariance.
RobustFit fit_robust(const Eigen::VectorXcd& reference, const Eigen::VectorXcd& response, const Eigen::MatrixXd& regressors,
                     std::size_t frames_per_block, Scatter scatter, const RobustScheme& scheme = {});

/// Middle value, or the mean of the two middle values if their number is even. Requires: not empty.
double median(std::vector<double> values);

}  // namespace evenwall::internal::numeric
