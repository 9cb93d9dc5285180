// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/ratio_course.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "measure/lean_constants.hpp"
#include "measure/method_constants.hpp"
#include "numeric/robust_regression.hpp"
#include "numeric/running_median.hpp"

namespace evenwall::internal::measure {
namespace {

/// Mirrors a place before the first or after the last one into the course.
std::size_t mirrored(std::ptrdiff_t place, std::size_t size) {
  const auto last = static_cast<std::ptrdiff_t>(size) - 1;
  if (place < 0) place = -place;
  if (place > last) place = 2 * last - place;
  return static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(place, 0, last));
}

/// Fast part of a course: each value minus the mean of the two values `reach` places before and after it.
template <typename Value>
std::vector<Value> fast_part(const std::vector<Value>& values, std::ptrdiff_t reach) {
  std::vector<Value> fast(values.size());
  for (std::size_t f = 0; f < values.size(); ++f) {
    const auto at = static_cast<std::ptrdiff_t>(f);
    fast[f] = values[f] - 0.5 * (values[mirrored(at - reach, values.size())] + values[mirrored(at + reach, values.size())]);
  }
  return fast;
}

std::vector<Complex> running_median(const std::vector<Complex>& values, std::size_t half) {
  std::vector<double> re, im;
  for (const Complex& z : values) re.push_back(z.real()), im.push_back(z.imag());
  re = numeric::running_median(re, half);
  im = numeric::running_median(im, half);
  std::vector<Complex> medians;
  for (std::size_t f = 0; f < values.size(); ++f) medians.emplace_back(re[f], im[f]);
  return medians;
}

/// Median of the magnitudes with a weight above 0.
template <typename Value>
double median_size(const std::vector<Value>& values, const std::vector<double>& weights) {
  std::vector<double> sizes;
  for (std::size_t f = 0; f < values.size(); ++f) {
    if (weights[f] > 0) sizes.push_back(std::sqrt(std::norm(values[f])));
  }
  return sizes.empty() ? 0.0 : numeric::median(std::move(sizes));
}

/// Frames without fast changes nearby. The limits are the noise across the lean, the noise plus the bend of a lean along it, and the noise
/// of the driven channel's magnitude.
std::vector<bool> calm_frames(const RatioCourse& course, Complex lean_turn) {
  const std::size_t n = course.ratio.size();
  const auto reach = static_cast<std::ptrdiff_t>(course.places(kFastReach));
  const std::size_t near = course.places(kCalmReach);
  const std::vector<Complex> fast = fast_part(course.ratio, reach);
  const std::vector<double> swing = fast_part(course.size, reach);
  const double scale = std::max(kLeastRatioNoise, median_size(fast, course.heard) / kMedianOverRayleigh);
  const double across = kCalm * scale;
  const double along = across + kLeanBend * std::min(1.0, kLeanBend / across);
  const double most_swing = kCalmSwing * std::max(kLeastRatioNoise, median_size(swing, course.heard) / kMedianOverSd);
  std::vector<double> unrest(n);
  for (std::size_t f = 0; f < n; ++f) {
    const Complex h = fast[f] * lean_turn;
    unrest[f] = std::max({std::abs(h.imag()) / across, std::abs(h.real()) / along, std::abs(swing[f]) / most_swing});
  }
  const std::vector<Complex> middle = running_median(course.ratio, course.places(kCalmMedianReach));
  std::vector<bool> calm(n);
  for (std::size_t f = 0; f < n; ++f) {
    const auto from = unrest.begin() + static_cast<std::ptrdiff_t>(f - std::min(f, near));
    const auto to = unrest.begin() + static_cast<std::ptrdiff_t>(std::min(n - 1, f + near));
    const Complex off = (course.ratio[f] - middle[f]) * lean_turn;
    calm[f] = course.heard[f] > 0 && *std::max_element(from, to + 1) < 1 && std::abs(off.imag()) < kCalmOff * scale &&
              std::abs(off.real()) < kCalmOff * scale + kLeanBend;
  }
  return calm;
}

}  // namespace

RatioCourse course_of(const InnerFrames& inner, double hop_s) {
  const std::size_t stride = inner.middle_s.size() > kFramesToSpare ? 2 : 1;
  RatioCourse course{inner.middle_s.front(), hop_s * static_cast<double>(stride), 4 / stride, {}, {}, {}, {}};
  for (std::size_t f = 0; f < inner.middle_s.size(); ++f) {
    const auto hop = static_cast<std::size_t>(std::lround((inner.middle_s[f] - course.start_s) / hop_s));
    if (hop % stride != 0) continue;
    const std::size_t place = hop / stride;
    const Complex ratio = inner.quiet[f] / inner.driven[f];
    const double size = std::abs(inner.driven[f]);
    const std::size_t before = course.ratio.size();
    for (std::size_t g = before; g < place; ++g) {
      const double u = static_cast<double>(g - before + 1) / static_cast<double>(place - before + 1);
      course.ratio.push_back((1 - u) * course.ratio[before - 1] + u * ratio);
      course.size.push_back((1 - u) * course.size[before - 1] + u * size);
      course.driven.emplace_back();
      course.heard.push_back(0);
    }
    course.ratio.push_back(ratio);
    course.size.push_back(size);
    course.driven.push_back(inner.driven[f]);
    course.heard.push_back(1);
  }
  return course;
}

std::vector<Complex> smoothed(const std::vector<Complex>& values, const std::vector<double>& weights, std::size_t half,
                              const std::vector<Complex>& otherwise) {
  const std::size_t n = values.size();
  // Weights and weighted values are padded by a window on both sides, so that the loops over places need no bounds check.
  std::vector<double> weight(n + 2 * half), re(n + 2 * half), im(n + 2 * half);
  for (std::size_t f = 0; f < n; ++f) {
    weight[half + f] = weights[f];
    re[half + f] = weights[f] * values[f].real();
    im[half + f] = weights[f] * values[f].imag();
  }
  const auto summed = [&](const std::vector<double>& padded) {
    std::vector<double> sums(padded.begin() + static_cast<std::ptrdiff_t>(half), padded.end() - static_cast<std::ptrdiff_t>(half));
    for (std::size_t k = 1; k <= half; ++k) {
      const double window = 0.5 + 0.5 * std::cos(std::numbers::pi * static_cast<double>(k) / static_cast<double>(half + 1));
      const double* before = padded.data() + half - k;
      const double* after = padded.data() + half + k;
      for (std::size_t f = 0; f < n; ++f) sums[f] += window * (before[f] + after[f]);
    }
    return sums;
  };
  const std::vector<double> all = summed(weight), all_re = summed(re), all_im = summed(im);
  std::vector<Complex> means(n);
  for (std::size_t f = 0; f < n; ++f) {
    means[f] = all[f] > kLeastSmoothingWeight ? Complex(all_re[f], all_im[f]) / all[f] : otherwise[f];
  }
  return means;
}

std::vector<double> running_mean(const std::vector<double>& values, std::size_t half) {
  std::vector<double> means(values.size());
  double sum = 0;
  std::size_t from = 0, to = 0;  // the sum covers [from, to)
  for (std::size_t f = 0; f < values.size(); ++f) {
    while (to < std::min(values.size(), f + half + 1)) sum += values[to++];
    while (from + half < f) sum -= values[from++];
    means[f] = sum / static_cast<double>(to - from);
  }
  return means;
}

std::vector<double> click_weights(const RatioCourse& course, Complex lean_turn) {
  const std::size_t n = course.ratio.size();
  const std::vector<bool> calm = calm_frames(course, lean_turn);
  std::vector<Complex> baseline = running_median(course.ratio, course.places(kFirstBaselineReach));
  std::vector<double> weights = course.heard;
  std::vector<Complex> residual(n);
  for (const std::size_t half : kBaselineReaches) {
    for (std::size_t f = 0; f < n; ++f) residual[f] = course.ratio[f] - baseline[f];
    // A baseline of fewer frames follows the noise more closely.
    const double grown = half > kNarrowBaseline ? kWideBaselineLoss : kNarrowBaselineLoss;
    const double scale = std::max(kLeastRatioNoise, grown * median_size(residual, course.heard) / kMedianOverRayleigh);
    for (std::size_t f = 0; f < n; ++f) {
      const double off = std::sqrt(std::norm(residual[f])) / (kBisquareCut * scale);
      const double bisquare = off < 1 ? (1 - off * off) * (1 - off * off) : 0.0;
      weights[f] = course.heard[f] * (calm[f] ? std::max(bisquare, kCalmWeight) : bisquare);
    }
    const auto hit = [](double weight) { return weight < kHitWeight; };
    const auto hits = static_cast<double>(std::count_if(weights.begin(), weights.end(), hit));
    if (hits < kNoClicks * static_cast<double>(n)) break;  // noise explains so few; a closer baseline is not needed
    baseline = smoothed(course.ratio, weights, course.places(half), baseline);
  }
  return weights;
}

double noise_of(const std::vector<Complex>& residual, const std::vector<double>& weights, std::size_t frame_hops) {
  const auto scale_of = [&](double least_weight) {
    std::vector<double> sizes;
    for (std::size_t f = frame_hops; f + frame_hops < residual.size(); ++f) {
      if (std::min({weights[f], weights[f - frame_hops], weights[f + frame_hops]}) < least_weight) continue;
      sizes.push_back(std::abs(residual[f] - 0.5 * (residual[f - frame_hops] + residual[f + frame_hops])));
    }
    return sizes.size() < kLeastNoiseSizes ? std::nullopt : std::optional(numeric::median(std::move(sizes)));
  };
  auto median = scale_of(kCleanWeight);
  if (!median) median = scale_of(0);
  // The difference combines three independent frames with weights 1, ½ and ½.
  return std::max(kLeastRatioNoise, median.value_or(0) / (kMedianOverRayleigh * std::sqrt(1.5)));
}

}  // namespace evenwall::internal::measure
