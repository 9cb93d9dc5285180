// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sample_faults.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <numeric>

#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {
void SampleFaults::add(float sample) {
  ++samples_;
  if (!std::isfinite(sample)) {
    ++not_finite_;
    end_run();
    return;
  }
  sum_ += static_cast<double>(sample);
  const float magnitude = std::abs(sample);
  if (magnitude > largest_) {
    largest_ = magnitude;
    flat_.fill(0);
    run_ = 0;
  }
  if (magnitude < largest_ || magnitude == 0.0F) {
    end_run();
  } else if (run_ > 0 && sample == run_value_) {
    ++run_;
  } else {
    end_run();
    run_value_ = sample;
    run_ = 1;
  }
}

void SampleFaults::add_block(const float* samples, std::size_t count, std::size_t stride, double sum, float largest, bool finite) {
  // Finite samples, if larger than any recorder writes, can still add up to more than single precision holds.
  if (finite && std::isfinite(sum) && largest < largest_) {
    end_run();
    samples_ += static_cast<std::int64_t>(count);
    sum_ += sum;
    return;
  }
  for (std::size_t i = 0; i < count; ++i) add(samples[i * stride]);
}

void SampleFaults::end_run() {
  if (run_ > 0) flat_[std::min(static_cast<std::size_t>(run_), flat_.size() - 1)] += run_;
  run_ = 0;
}

double SampleFaults::mean() const {
  const std::int64_t finite = samples_ - not_finite_;
  return finite > 0 ? sum_ / static_cast<double>(finite) : 0.0;
}

double SampleFaults::clipped_fraction(std::int64_t longest_unclipped) const {
  if (samples_ == 0) return 0;
  const std::int64_t least = std::max(kFlatTop, longest_unclipped + 1);
  if (least >= static_cast<std::int64_t>(flat_.size())) return 0;
  const std::int64_t flat = std::accumulate(flat_.begin() + least, flat_.end(), run_ >= least ? run_ : 0);
  return static_cast<double>(flat) / static_cast<double>(samples_);
}

std::int64_t longest_plateau(double amplitude, double step, double turn_rad) {
  assert(amplitude >= 0 && step >= 0 && turn_rad > 0);
  if (!(step < amplitude)) return step > 0 ? std::numeric_limits<std::int32_t>::max() : 0;
  // Rounded values are equal only while the sine is within one step of its peak.
  return 1 + static_cast<std::int64_t>(2 * std::acos(1 - step / amplitude) / turn_rad);
}

}  // namespace evenwall::internal::measure
