// SPDX-License-Identifier: GPL-3.0-or-later
// Sorts the measured passages by frequency: tones, and the third octaves of sweeps and noise.
#pragma once

#include <optional>
#include <vector>

#include "measure/combine.hpp"
#include "measure/third_octaves.hpp"

namespace evenwall::internal::measure {

/// The measured passages of one frequency.
struct AtFrequency {
  double frequency_hz = 0;
  bool tone = true;  ///< false: a frequency within a sweep or noise
  std::optional<CombinedPassages> left, right, both;
};

/// All tones, and all third octaves of sweeps and noise at which no left-only or right-only tone exists, in ascending order.
std::vector<AtFrequency> heard_frequencies(const std::vector<HeardPassage>& tones, const std::vector<HeardBands>& bands);

/// Values of sweeps and noise at a frequency, which need not be a band's centre. Empty if no passage drives one channel alone there.
std::optional<AtFrequency> band_place(const std::vector<HeardBands>& bands, double frequency_hz);

}  // namespace evenwall::internal::measure
