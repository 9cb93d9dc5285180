// SPDX-License-Identifier: GPL-3.0-or-later
// Faults that show in the samples of one channel, counted while they stream by.
#pragma once

#include <cstddef>
#include <cstdint>

namespace evenwall::internal::measure {

class SampleFaults {
 public:
  void add(float sample);
  /// As add() for each of them, and quickly past them where none reaches the largest magnitude so far. `sum` is theirs (or no number, and
  /// they are added up here), `largest` their largest magnitude, `finite` whether all are finite numbers; samples stand `stride` apart.
  void add_block(const float* samples, std::size_t count, std::size_t stride, double sum, float largest, bool finite);

  [[nodiscard]] std::int64_t samples() const { return samples_; }
  [[nodiscard]] std::int64_t not_finite() const { return not_finite_; }
  [[nodiscard]] double mean() const;
  [[nodiscard]] double largest() const { return static_cast<double>(largest_); }
  /// Share of samples that lie in flat tops: three or more in a row at exactly the largest magnitude met.
  [[nodiscard]] double clipped_fraction() const;

 private:
  void end_run();

  std::int64_t samples_ = 0;
  std::int64_t not_finite_ = 0;
  double sum_ = 0;
  float largest_ = 0;
  float run_value_ = 0;
  std::int64_t run_ = 0;
  std::int64_t flat_ = 0;
};

}  // namespace evenwall::internal::measure
