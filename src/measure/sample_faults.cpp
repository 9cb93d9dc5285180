// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sample_faults.hpp"

#include <cmath>

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
    flat_ = 0;
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
  if (run_ >= kFlatTop) flat_ += run_;
  run_ = 0;
}

double SampleFaults::mean() const {
  const std::int64_t finite = samples_ - not_finite_;
  return finite > 0 ? sum_ / static_cast<double>(finite) : 0.0;
}

double SampleFaults::clipped_fraction() const {
  if (samples_ == 0) return 0;
  return static_cast<double>(flat_ + (run_ >= kFlatTop ? run_ : 0)) / static_cast<double>(samples_);
}

}  // namespace evenwall::internal::measure
