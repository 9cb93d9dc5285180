// SPDX-License-Identifier: GPL-3.0-or-later
// Combines the passages of one driven channel and one frequency into weighted means.
#pragma once

#include <optional>
#include <vector>

#include "measure/listen.hpp"
#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {

/// Weighted mean of the passages that drive one channel (or both) at one frequency.
struct CombinedPassages {
  ComplexEstimate ratio;
  double ln_level = 0;
  double u_ln_level = 0;
  OptionalNumber band_db;
  double warp_mean_square = 0;  ///< mean square over a turn of the once-per-revolution modulation of the ratio's real part
  int passages = 0;
};

/// Mean weighted by inverse covariances. If the estimates scatter more than their uncertainties predict, the covariance of the mean is
/// multiplied by chi-square over its degrees of freedom (Birge ratio). Requires: at least one estimate.
ComplexEstimate weighted_mean(const std::vector<ComplexEstimate>& group);

/// Relation of the both-channel passages that are used at one frequency: in phase if there are such passages, otherwise antiphase. They are
/// never mixed, because the ratios of a lateral and of a vertical band have opposite signs, and the cartridge's crosstalk adds to their
/// phases with opposite signs, too.
inline Relation used_relation(bool any_in_phase) { return any_in_phase ? Relation::kInPhase : Relation::kAntiphase; }

/// Combines the passages that drive that channel at that frequency (within kSameTone). Empty if there is no such passage.
std::optional<CombinedPassages> combine(const std::vector<HeardPassage>& heard, Driven driven, double frequency_hz);

/// Mean frequencies of the tones found, in ascending order. Frequencies within kSameTone of each other count as one tone.
std::vector<double> tone_frequencies(const std::vector<HeardPassage>& heard);

}  // namespace evenwall::internal::measure
