// SPDX-License-Identifier: GPL-3.0-or-later
// Estimates the crosstalk ratio of a tone passage, free of the changes that the record's lean causes as it turns.
#pragma once

#include <array>
#include <vector>

#include "measure/ratio_course.hpp"
#include "measure/turning_speed.hpp"
#include "numeric/matrix.hpp"

namespace evenwall::internal::measure {

struct LeanFit {
  Complex value;
  Eigen::Matrix2d noise = Eigen::Matrix2d::Zero();   ///< covariance of (Re, Im); independent from capture to capture
  Eigen::Matrix2d groove = Eigen::Matrix2d::Zero();  ///< covariance of (Re, Im); common to all captures of this groove
  std::array<Complex, 2> once_per_revolution{};      ///< cosine and sine amplitudes; the angle is 0 in the middle of the course
  double rpm = 0;                                    ///< the most probable speed
  double rpm_share = 1;                              ///< its posterior probability
  double residual_scale = 0;                         ///< standard deviation of the real or imaginary part of one frame's ratio
  double rejected_fraction = 0;                      ///< share of the frames with a weight below one half
};

/// Posterior mean of the ratio. The lean is the sum of kLeanHarmonics harmonics of the turn, each with a normal prior; the result is
/// averaged over the priors' magnitudes and spectra by their evidence. A passage shorter than one turn cannot separate the lean from the
/// crosstalk, so the lean's prior enters `groove`.
/// speeds: the possible speeds; exactly one if the speed is stated.
/// Requires: at least kLeastFrames places with heard = 1, and at least one speed.
/// Accuracy: docs/accuracy.md, "Records that lean". Source: docs/method.md, "The lean of the record".
LeanFit fit_lean(const RatioCourse& course, const std::vector<PossibleSpeed>& speeds);

}  // namespace evenwall::internal::measure
