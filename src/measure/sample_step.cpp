// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sample_step.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <numbers>

#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {

void SampleStep::add(const float* block, std::int64_t frames) {
  const auto wanted = std::min<std::int64_t>(2 * frames, kStepEnough - static_cast<std::int64_t>(first_.size()));
  if (wanted > 0) first_.insert(first_.end(), block, block + wanted);
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

namespace {

/// Variance of a piece of one channel about its mean and a tone, by least squares.
double variance_beside_tone(const float* samples, std::size_t frames, double turn_rad) {
  const auto at = [&](std::size_t n) { return std::isfinite(samples[2 * n]) ? static_cast<double>(samples[2 * n]) : 0.0; };
  const auto count = static_cast<double>(frames);
  double mean = 0;
  for (std::size_t n = 0; n < frames; ++n) mean += at(n) / count;
  double squares = 0, cc = 0, cs = 0, ss = 0, xc = 0, xs = 0;
  for (std::size_t n = 0; n < frames; ++n) {
    const double x = at(n) - mean;
    const double c = std::cos(turn_rad * static_cast<double>(n));
    const double s = std::sin(turn_rad * static_cast<double>(n));
    squares += x * x;
    cc += c * c, cs += c * s, ss += s * s;
    xc += x * c, xs += x * s;
  }
  const double determinant = cc * ss - cs * cs;
  const double of_tone = determinant > 0 ? (ss * xc * xc - 2 * cs * xc * xs + cc * xs * xs) / determinant : 0.0;
  return std::max(0.0, (squares - of_tone) / count);
}

}  // namespace

double SampleStep::noise(std::size_t channel, double turn_rad) const {
  const std::size_t frames = first_.size() / 2 / kNoisePieces;
  if (frames == 0) return 0;
  std::array<double, kNoisePieces> variances{};
  for (std::size_t piece = 0; piece < kNoisePieces; ++piece)
    variances[piece] = variance_beside_tone(first_.data() + 2 * piece * frames + channel, frames, turn_rad);
  std::sort(variances.begin(), variances.end());
  return std::sqrt(0.5 * (variances[kNoisePieces / 2 - 1] + variances[kNoisePieces / 2]));
}

double step_uncertainty(double step, double noise, double tone_amplitude) {
  if (!(step > 0) || noise > step) return 0;
  const double rounding2 = step * step / 12.0;
  const double dither2 = std::max(0.0, noise * noise - rounding2) / (step * step);
  const double steps = tone_amplitude / step - kLostTone_steps;
  const double of_tone = steps > 0 ? kRoundedTone / std::sqrt(steps) * step : std::sqrt(rounding2);
  return std::min(std::sqrt(rounding2), of_tone) * std::exp(-2.0 * std::numbers::pi * std::numbers::pi * dither2);
}

void enlarge(ComplexEstimate& estimate, double u) {
  const double covariance = estimate.correlation * estimate.u_re * estimate.u_im;
  estimate.u_re = std::hypot(estimate.u_re, u);
  estimate.u_im = std::hypot(estimate.u_im, u);
  estimate.correlation = covariance / (estimate.u_re * estimate.u_im);
}

double noise_of_samples(double frame_part_noise, double frame_samples) { return frame_part_noise * std::sqrt(frame_samples / 3.0); }

}  // namespace evenwall::internal::measure
