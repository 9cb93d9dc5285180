// SPDX-License-Identifier: GPL-3.0-or-later
// Draws pink or white noise on a canvas, from one source for both channels.
#pragma once

#include <functional>

#include "support/memory_source.hpp"

/// Adds noise of about unity rms times `left` to the left channel, times `right` to the right one. Pink noise is from a sum of first-order
/// filters.
inline void draw_noise(Canvas& canvas, double start_s, double length_s, bool pink, double left, double right, std::uint64_t seed,
                       const std::function<double(double)>& lean = {}) {
  rig::Draw draw(seed);
  double state[3] = {0, 0, 0};
  const double poles[3] = {0.99765, 0.963, 0.57}, gains[3] = {0.0990460, 0.2965164, 1.0526913};
  const auto first = static_cast<std::size_t>(start_s * canvas.rate_hz);
  const auto count = static_cast<std::size_t>(length_s * canvas.rate_hz);
  for (std::size_t i = 0; i < count; ++i) {
    const double white = draw.normal();
    double x = white;
    if (pink) {
      x = 0.1848 * white;
      for (int k = 0; k < 3; ++k) {
        state[k] = poles[k] * state[k] + gains[k] * white;
        x += state[k];
      }
      x *= 0.35;  // about unity rms
    }
    const double t = static_cast<double>(i) / canvas.rate_hz;
    const double moved = lean ? right - left * lean(t) : right;
    canvas.samples[2 * (first + i)] += static_cast<float>(left * x);
    canvas.samples[2 * (first + i) + 1] += static_cast<float>(moved * x);
  }
}
