// SPDX-License-Identifier: GPL-3.0-or-later
// Where a tone sounds and which groove wall it drives.
#pragma once

#include <vector>

#include "evenwall/model.hpp"
#include "measure/scan.hpp"

namespace evenwall::internal::measure {

/// A stretch of one steady tone in one driven channel, edges good to about one scan step.
struct ToneStretch {
  Driven driven = Driven::kBoth;
  double start_s = 0;
  double end_s = 0;
  double frequency_hz = 0;
};

/// Which wall a groove drives whose tone has these amplitudes.
Driven driven_by(double amplitude_left, double amplitude_right);

/// Whether a tone sounds in the frame clearly enough for find_tones to count it.
bool may_be_tone(const ScanFrame& frame);

/// Lead-in, quiet groove, gaps, hum and what does not hold one pitch are not tones. In time order, never overlapping.
/// rejected: takes what lasts 0.3 s or more and is dropped here, with why; may be null.
std::vector<ToneStretch> find_tones(const Scan& scan, std::vector<RejectedStretch>* rejected = nullptr);

}  // namespace evenwall::internal::measure
