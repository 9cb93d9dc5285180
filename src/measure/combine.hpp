// SPDX-License-Identifier: GPL-3.0-or-later
// Passages of one driven channel and one frequency, put together.
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
  double warp_mean_square = 0;  ///< of the once-per-revolution modulation of the ratio's real part, over a turn
  int passages = 0;
};

/// Mean by inverse covariances; estimates that scatter more than their uncertainties say enlarge that of the mean by as much (Birge ratio).
/// Requires: one estimate at least.
ComplexEstimate weighted_mean(const std::vector<ComplexEstimate>& group);

/// Which both-channel passages of one frequency are used: those in phase, and those in antiphase only if there is no other. The ratios of a
/// lateral and of a vertical band have opposite signs, and the cartridge's crosstalk adds to their phases with opposite signs, too.
inline Relation used_relation(bool any_in_phase) { return any_in_phase ? Relation::kInPhase : Relation::kAntiphase; }

/// Nothing where no passage drives that channel at that frequency (within kSameTone).
std::optional<CombinedPassages> combine(const std::vector<HeardPassage>& heard, Driven driven, double frequency_hz);

/// Mean frequencies of the tones found, ascending; those within kSameTone of each other are one.
std::vector<double> tone_frequencies(const std::vector<HeardPassage>& heard);

}  // namespace evenwall::internal::measure
