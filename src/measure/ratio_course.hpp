// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the ratio of a passage frame by frame, and computes weights that exclude frames with clicks.
#pragma once

#include <algorithm>
#include <vector>

#include "evenwall/model.hpp"
#include "measure/inner_frames.hpp"

namespace evenwall::internal::measure {

/// Holds one place for each frame of the lock-in, from the first to the last frame in use.
struct RatioCourse {
  double start_s = 0;
  double hop_s = 0;
  std::size_t frame_hops = 4;   ///< number of places between two frames that have no sample in common
  std::vector<Complex> ratio;   ///< undriven over driven channel; excluded frames are interpolated
  std::vector<double> size;     ///< magnitude of the driven channel; excluded frames are interpolated
  std::vector<Complex> driven;  ///< the driven channel; 0 for an excluded frame
  std::vector<double> heard;    ///< 1; 0 for an excluded frame
  /// Converts a length from hops of the lock-in to places; at least 1.
  [[nodiscard]] std::size_t places(std::size_t hops) const { return std::max<std::size_t>(1, (hops * frame_hops + 2) / 4); }
  [[nodiscard]] double time_s(std::size_t f) const { return start_s + hop_s * static_cast<double>(f); }
};

/// Takes every second frame if there are more than kFramesToSpare. Their windows then overlap by half and still weigh all samples alike.
RatioCourse course_of(const InnerFrames& inner, double hop_s);

/// Weighted means over a Hann window of `half` places each way. If almost nothing in the window has a weight, the mean is `otherwise`.
std::vector<Complex> smoothed(const std::vector<Complex>& values, const std::vector<double>& weights, std::size_t half,
                              const std::vector<Complex>& otherwise);

/// Means over `half` places each way; over fewer places near the ends.
std::vector<double> running_mean(const std::vector<double>& values, std::size_t half);

/// Weight of each frame, 0 to 1: the bisquare of its distance from a smoothed course. A frame without fast changes near it weighs at least
/// 0.9, even if the record's lean bends the course there, because a click has power 15 to 50 Hz beside the tone and a lean does not.
/// lean_turn: factor of magnitude 1 that turns a change of lean onto the real axis. Source: docs/method.md, "Clicks".
std::vector<double> click_weights(const RatioCourse& course, Complex lean_turn);

/// Standard deviation of the real or imaginary part of one frame's noise. It comes from differences over one frame's length, in which a
/// lean cancels. frame_hops: that of the course.
double noise_of(const std::vector<Complex>& residual, const std::vector<double>& weights, std::size_t frame_hops);

}  // namespace evenwall::internal::measure
