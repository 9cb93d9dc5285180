// SPDX-License-Identifier: GPL-3.0-or-later
// Where broadband noise sounds, and which groove wall it drives.
#pragma once

#include <vector>

#include "evenwall/model.hpp"
#include "measure/octave_scan.hpp"

namespace evenwall::internal::measure {

struct NoiseStretch {
  Driven driven = Driven::kBoth;
  double start_s = 0;
  double end_s = 0;
};

/// A stretch that something else holds already.
struct Span {
  double start_s = 0;
  double end_s = 0;
};

/// Stretches of 2.5 s or more that fill every octave as noise does, each steady in level and in its share between the channels, and whose
/// channels hang together: surface noise and hiss do not. In time order, never overlapping each other or what is taken.
/// Source: docs/method.md, "Noise".
std::vector<NoiseStretch> find_noise(const OctaveScan& scan, const std::vector<Span>& taken);

}  // namespace evenwall::internal::measure
