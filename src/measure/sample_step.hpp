// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the step to which the samples of a capture are rounded, and the uncertainty that it causes without dither.
#pragma once

#include <cstdint>

#include "evenwall/model.hpp"

namespace evenwall::internal::measure {

/// Finds the step from the samples themselves, because 24-bit files often hold only 16 bits.
class SampleStep {
 public:
  /// block: interleaved stereo. Zeros and samples that are not finite numbers are ignored.
  void add(const float* block, std::int64_t frames);
  /// Largest power of two of which all samples are multiples, full scale = 1. It is 0 if the step is finer than 24 bits or the samples are
  /// too few.
  [[nodiscard]] double size() const;

 private:
  std::int64_t seen_ = 0;
  std::uint64_t bits_ = 0;  // all samples as multiples of 2⁻²³, combined by a bitwise or
  bool finer_ = false;
};

/// Standard uncertainty of each part of a tone's amplitude from rounding to `step`, with Gaussian noise of the standard deviation `noise`.
///
/// Without noise a tone below half a step is an exact zero, and the error is uniform within half a step. Noise makes the error independent
/// of the signal; the factor is its characteristic function at the step's frequency, exp(−2π²(noise/step)²). Noise of half a step leaves
/// 0.7 %.
double step_uncertainty(double step, double noise);

/// Adds the standard uncertainty u to each part.
void enlarge(ComplexEstimate& estimate, double u);

/// Standard deviation of a sample's noise, from that of one part of a lock-in frame's amplitude (Hann window of frame_samples).
double noise_of_samples(double frame_part_noise, double frame_samples);

}  // namespace evenwall::internal::measure
