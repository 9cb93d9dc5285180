// SPDX-License-Identifier: GPL-3.0-or-later
// How a passage's ratio runs, frame by frame, and which of its frames a click has touched.
#pragma once

#include <algorithm>
#include <vector>

#include "evenwall/model.hpp"
#include "measure/inner_frames.hpp"

namespace evenwall::internal::measure {

/// One place a frame of the lock-in, from the first that counts to the last.
struct RatioCourse {
  double start_s = 0;
  double hop_s = 0;
  std::size_t frame_hops = 4;   ///< places from a frame to the next one that has no sample in common with it
  std::vector<Complex> ratio;   ///< quiet over driven channel; excluded frames are interpolated
  std::vector<double> size;     ///< of the driven channel, likewise
  std::vector<Complex> driven;  ///< the driven channel; 0 for an excluded frame
  std::vector<double> heard;    ///< 1, or 0 for an excluded frame
  /// A length in hops of the lock-in, in places; 1 at least.
  [[nodiscard]] std::size_t places(std::size_t hops) const { return std::max<std::size_t>(1, (hops * frame_hops + 2) / 4); }
  [[nodiscard]] double time_s(std::size_t f) const { return start_s + hop_s * static_cast<double>(f); }
};

/// Of more than kFramesToSpare frames every second: half over each other, their windows still weigh all samples alike.
RatioCourse course_of(const InnerFrames& inner, double hop_s);

/// Weighted means of what lies up to `half` places away, the weight falling as a Hann window's; where hardly anything weighs there,
/// `otherwise`.
std::vector<Complex> smoothed(const std::vector<Complex>& values, const std::vector<double>& weights, std::size_t half,
                              const std::vector<Complex>& otherwise);

/// Means of what lies up to `half` places away, of fewer near the ends.
std::vector<double> running_mean(const std::vector<double>& values, std::size_t half);

/// Weight of each frame, 0 to 1: the bisquare of its distance from the course around it. But a frame near which nothing is fast weighs 0.9
/// at least, however the record's lean bends the course there: a click holds power 15 to 50 Hz beside the tone, a lean does not. lean_turn:
/// what turns a change of lean onto the real axis, of size 1. Source: docs/method.md, "One leak".
std::vector<double> click_weights(const RatioCourse& course, Complex lean_turn);

/// Standard deviation of one part of one frame's noise, from differences over a frame's length, which no lean reaches.
/// frame_hops: as of the course.
double noise_of(const std::vector<Complex>& residual, const std::vector<double>& weights, std::size_t frame_hops);

}  // namespace evenwall::internal::measure
