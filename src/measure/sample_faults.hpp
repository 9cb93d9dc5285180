// SPDX-License-Identifier: GPL-3.0-or-later
// Counts the faults of one channel's samples (clipping, DC, samples that are not finite) as they are read.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace evenwall::internal::measure {

class SampleFaults {
 public:
  void add(float sample);
  /// Does the same as add() for each sample, but faster if none of them reaches the largest magnitude so far. `sum` is the sum of the
  /// samples; if it is not finite, they are added up here. `largest` is their largest magnitude, `finite` whether all are finite numbers.
  /// The samples are `stride` apart.
  void add_block(const float* samples, std::size_t count, std::size_t stride, double sum, float largest, bool finite);

  [[nodiscard]] std::int64_t samples() const { return samples_; }
  [[nodiscard]] std::int64_t not_finite() const { return not_finite_; }
  [[nodiscard]] double mean() const;
  [[nodiscard]] double largest() const { return static_cast<double>(largest_); }
  /// Share of samples that lie in flat tops, which are runs of equal samples at the largest magnitude so far. `longest_unclipped`: the
  /// longest run that the signal itself can make, in samples; runs of less than three never count.
  [[nodiscard]] double clipped_fraction(std::int64_t longest_unclipped = 0) const;

 private:
  void end_run();

  std::int64_t samples_ = 0;
  std::int64_t not_finite_ = 0;
  double sum_ = 0;
  float largest_ = 0;
  float run_value_ = 0;
  std::int64_t run_ = 0;
  std::array<std::int64_t, 64> flat_{};  ///< samples in runs of each length; the last one has all longer runs
};

/// The longest run of equal samples at the peak of a sine of this amplitude, if no noise changes its rounded values, in samples.
/// amplitude, step: in the same unit; 0 for a step that is not known. turn_rad: the angle from one sample to the next.
std::int64_t longest_plateau(double amplitude, double step, double turn_rad);

}  // namespace evenwall::internal::measure
