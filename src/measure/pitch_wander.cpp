// SPDX-License-Identifier: GPL-3.0-or-later
// The phase of the tone against a steady oscillator is followed from frame to frame. What it gains in a quarter of a second gives the mean
// frequency there:
//
//   f_k = ( phase(t_k + 0.25 s) - phase(t_k) ) / ( 2 pi 0.25 s ) ,    wander = 1.4826 median| f_k - median f | / f .
//
// Noise hardly affects it: with noise of -40 dB in the whole band of a tone of 1 kHz, the wander is 0.00003 % (test). The median makes one
// phase jump, such as a lost sample, harmless. Source: own derivation. Cost: one arctangent for each frame.
#include "measure/pitch_wander.hpp"

#include <cassert>
#include <cmath>
#include <numbers>

#include "measure/record_constants.hpp"
#include "numeric/counts.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {

OptionalNumber pitch_wander_percent(const std::vector<double>& middle_s, const std::vector<Complex>& driven, double hop_s,
                                    double frequency_hz) {
  assert(middle_s.size() == driven.size() && hop_s > 0 && frequency_hz > 0);
  const std::size_t hops = numeric::at_least_one(kPitchMean_s / hop_s);
  std::vector<double> hertz;
  double gained_rad = 0;
  std::size_t followed = 0;
  for (std::size_t f = 1; f < driven.size(); ++f) {
    if (middle_s[f] - middle_s[f - 1] > 1.5 * hop_s) {  // frames are missing, so the phase in between is not known
      gained_rad = 0;
      followed = 0;
      continue;
    }
    gained_rad += std::arg(driven[f] * std::conj(driven[f - 1]));
    if (++followed < hops) continue;
    hertz.push_back(gained_rad / (2.0 * std::numbers::pi * hop_s * static_cast<double>(hops)));
    gained_rad = 0;
    followed = 0;
  }
  if (hertz.size() < kLeastPitchMeans) return std::nullopt;
  const double middle_hz = numeric::median(hertz);
  for (double& hz : hertz) hz = std::abs(hz - middle_hz);
  return 100.0 * numeric::median(std::move(hertz)) / kMedianDeviationOverSd / frequency_hz;
}

}  // namespace evenwall::internal::measure
