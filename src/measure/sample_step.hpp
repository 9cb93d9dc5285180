// SPDX-License-Identifier: GPL-3.0-or-later
// The step that the samples of a capture are rounded to, and what it hides where nothing dithers it.
#pragma once

#include <cstdint>

#include "evenwall/model.hpp"

namespace evenwall::internal::measure {

/// Finds the step from the samples themselves: 24-bit files often hold 16 bits.
class SampleStep {
 public:
  /// Interleaved stereo. Samples that are no finite numbers tell nothing.
  void add(const float* block, std::int64_t frames);
  /// Largest power of two that all samples are multiples of, full scale = 1; 0 where there is none of 24 bits, or hardly a sample.
  [[nodiscard]] double size() const;

 private:
  std::int64_t seen_ = 0;
  std::uint64_t bits_ = 0;  // of the samples as multiples of 2⁻²³, one over the other
  bool finer_ = false;
};

/// Standard uncertainty of each part of a tone's amplitude from rounding to `step`, beside Gaussian noise of that standard deviation.
///
/// Without noise a tone below half a step is an exact zero: the error lies evenly within half a step. Noise parts error and signal by the
/// characteristic function at the step's frequency, exp(−2π²(noise/step)²): half a step leaves 0.7 %.
double step_uncertainty(double step, double noise);

/// Adds an uncertainty of that size to each part.
void enlarge(ComplexEstimate& estimate, double u);

/// Standard deviation of a sample's noise from that of one part of a lock-in frame's amplitude (Hann window of frame_samples).
double noise_of_samples(double frame_part_noise, double frame_samples);

}  // namespace evenwall::internal::measure
