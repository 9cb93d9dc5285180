// SPDX-License-Identifier: GPL-3.0-or-later
// What was heard, sorted by frequency: tones, and the third octaves of sweeps and noise.
#pragma once

#include <optional>
#include <vector>

#include "measure/combine.hpp"
#include "measure/third_octaves.hpp"

namespace evenwall::internal::measure {

/// What was heard of one frequency.
struct AtFrequency {
  double frequency_hz = 0;
  bool tone = true;  ///< else a place in a sweep or noise
  std::optional<CombinedPassages> left, right, both;
};

/// Every tone, and every third octave that a sweep or noise gives and no tone does; ascending.
std::vector<AtFrequency> heard_frequencies(const std::vector<HeardPassage>& tones, const std::vector<HeardBands>& bands);

/// The place a frequency has in sweeps and noise, whether a band's centre or not. Nothing where neither channel is driven there.
std::optional<AtFrequency> band_place(const std::vector<HeardBands>& bands, double frequency_hz);

}  // namespace evenwall::internal::measure
