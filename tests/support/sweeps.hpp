// SPDX-License-Identifier: GPL-3.0-or-later
// Draws sweeps on a canvas by a running sum of phase.
#pragma once

#include <functional>

#include "support/memory_source.hpp"

/// Adds a sweep. The frequency and the channels' complex amplitudes are functions of the time since its start.
inline void draw_sweep(Canvas& canvas, double start_s, double length_s, const std::function<double(double)>& frequency_hz,
                       const std::function<std::pair<std::complex<double>, std::complex<double>>(double)>& amplitudes) {
  double phase = 0.3;
  const auto first = static_cast<std::size_t>(start_s * canvas.rate_hz);
  const auto count = static_cast<std::size_t>(length_s * canvas.rate_hz);
  for (std::size_t i = 0; i < count && 2 * (first + i) + 1 < canvas.samples.size(); ++i) {
    const double t = static_cast<double>(i) / canvas.rate_hz;
    const auto turn = std::polar(1.0, phase);
    const auto [left, right] = amplitudes(t);
    canvas.samples[2 * (first + i)] += static_cast<float>((left * turn).real());
    canvas.samples[2 * (first + i) + 1] += static_cast<float>((right * turn).real());
    phase += 2 * 3.14159265358979323846 * frequency_hz(t + 0.5 / canvas.rate_hz) / canvas.rate_hz;
  }
}
