// SPDX-License-Identifier: GPL-3.0-or-later
// One ratio from its course: what leaks, free of what the record's lean adds as it turns.
#pragma once

#include <array>
#include <vector>

#include "measure/ratio_course.hpp"
#include "measure/turning_speed.hpp"
#include "numeric/matrix.hpp"

namespace evenwall::internal::measure {

struct LeanFit {
  Complex value;
  Eigen::Matrix2d noise = Eigen::Matrix2d::Zero();   ///< covariance of (Re, Im), new at every capture
  Eigen::Matrix2d groove = Eigen::Matrix2d::Zero();  ///< likewise, the same at every capture of this stretch of groove
  std::array<Complex, 2> once_per_revolution{};      ///< cosine and sine part, counted from the middle of the course
  double rpm = 0;                                    ///< the likeliest,
  double rpm_share = 1;                              ///< and how likely it is
  double residual_scale = 0;                         ///< of one part of one frame's ratio
  double rejected_fraction = 0;                      ///< of the frames: weight below one half
};

/// Posterior mean of the ratio under a lean of kLeanHarmonics harmonics of the turn, each with a normal prior, averaged over the priors'
/// sizes and spectra by their evidence. A passage shorter than a turn keeps what the lean may be as the groove's doubt.
/// speeds: those that are possible; one alone where it is stated.
/// Requires: kLeastFrames places at least that were heard, one speed at least.
/// Accuracy: docs/accuracy.md, "Records that lean". Source: docs/method.md, "One leak".
LeanFit fit_lean(const RatioCourse& course, const std::vector<PossibleSpeed>& speeds);

}  // namespace evenwall::internal::measure
