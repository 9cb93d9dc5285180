// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the step to which the samples of a capture are rounded, and the uncertainty that it causes without dither.
#pragma once

#include <cstdint>
#include <vector>

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
  /// Standard deviation of everything but the tone in a channel (0: left, 1: right), rounding included: the median of four short pieces, so
  /// that neither a click nor a fade counts. turn_rad: phase of the tone per sample. 0 if there are too few samples.
  [[nodiscard]] double noise(std::size_t channel, double turn_rad) const;

 private:
  std::vector<float> first_;  // interleaved
  std::int64_t seen_ = 0;
  std::uint64_t bits_ = 0;  // all samples as multiples of 2⁻²³, combined by a bitwise or
  bool finer_ = false;
};

/// Standard uncertainty of each part of a tone's amplitude from rounding to `step`, for a tone of that amplitude in the same unit. `noise`:
/// standard deviation of the noise in the rounded samples. It contains the rounding's own variance, step²/12, which dithers nothing and is
/// subtracted.
///
/// The error of a tone of a steps is Σ (−1)ᵏ 2/(πk) J₁(2πka) steps, with J₁ the Bessel function; its root mean square over a is about
/// 0.157/√a. Up to a step the tone can be lost, so a − 0.7 takes the place of a. Without noise a tone below half a step is an exact zero,
/// and the error is uniform within half a step. Noise makes the error independent of the signal; the factor is its characteristic function
/// at the step's frequency, exp(−2π²(dither/step)²). Dither of half a step leaves 0.7 %.
double step_uncertainty(double step, double noise, double tone_amplitude);

/// Adds the standard uncertainty u to each part.
void enlarge(ComplexEstimate& estimate, double u);

/// Standard deviation of a sample's noise, from that of one part of a lock-in frame's amplitude (Hann window of frame_samples).
double noise_of_samples(double frame_part_noise, double frame_samples);

}  // namespace evenwall::internal::measure
