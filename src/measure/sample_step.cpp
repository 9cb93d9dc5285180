// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sample_step.hpp"

#include <bit>
#include <cmath>
#include <numbers>

#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {
void SampleStep::add(const float* block, std::int64_t frames) {
  for (std::int64_t i = 0; i < 2 * frames && seen_ < kStepEnough && !finer_; ++i) {
    const float size = std::abs(block[i]);
    if (!(size > 0 && size < kMostFloatSteps)) continue;
    const double steps = kFinestSteps * static_cast<double>(size);
    const auto whole = static_cast<std::uint64_t>(steps);
    finer_ = static_cast<double>(whole) != steps;
    bits_ |= whole;
    ++seen_;
  }
}

double SampleStep::size() const {
  if (finer_ || seen_ < kStepLeastSeen) return 0;
  return std::ldexp(1.0, std::countr_zero(bits_)) / kFinestSteps;
}

double step_uncertainty(double step, double noise) {
  if (!(step > 0) || noise > step) return 0;
  const double relative = noise / step;
  return step / std::sqrt(12.0) * std::exp(-2.0 * std::numbers::pi * std::numbers::pi * relative * relative);
}

void enlarge(ComplexEstimate& estimate, double u) {
  const double covariance = estimate.correlation * estimate.u_re * estimate.u_im;
  estimate.u_re = std::hypot(estimate.u_re, u);
  estimate.u_im = std::hypot(estimate.u_im, u);
  estimate.correlation = covariance / (estimate.u_re * estimate.u_im);
}

double noise_of_samples(double frame_part_noise, double frame_samples) { return frame_part_noise * std::sqrt(frame_samples / 3.0); }

}  // namespace evenwall::internal::measure
