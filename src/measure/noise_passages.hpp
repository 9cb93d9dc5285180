// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the passages of broadband noise and the groove wall that each of them drives.
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

/// A stretch that already belongs to another passage.
struct Span {
  double start_s = 0;
  double end_s = 0;
};

/// Finds stretches of 2.5 s or more that fill every octave as noise does. Each is steady in level and in its share between the channels,
/// and its channels are coherent, which those of surface noise and hiss are not. The stretches are in time order and overlap neither each
/// other nor `taken`.
/// Source: docs/method.md, "Noise bands".
std::vector<NoiseStretch> find_noise(const OctaveScan& scan, const std::vector<Span>& taken);

}  // namespace evenwall::internal::measure
