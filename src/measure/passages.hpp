// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the passages of steady tones and the groove wall that each of them drives.
#pragma once

#include <vector>

#include "evenwall/model.hpp"
#include "measure/scan.hpp"

namespace evenwall::internal::measure {

/// A stretch of one steady tone in one driven channel. Accuracy: its edges lie within about one scan step.
struct ToneStretch {
  Driven driven = Driven::kBoth;
  double start_s = 0;
  double end_s = 0;
  double frequency_hz = 0;
};

/// Which channel is driven, from the amplitudes of the tone in both channels.
Driven driven_by(double amplitude_left, double amplitude_right);

/// Whether a tone sounds in the frame clearly enough for find_tones to count it.
bool may_be_tone(const ScanFrame& frame);

/// Finds the tones in time order, never overlapping. Lead-in, quiet groove, gaps, hum and signals that do not hold one pitch are not tones.
/// rejected: receives the stretches of 0.3 s or more that are dropped here, each with the reason; may be null.
std::vector<ToneStretch> find_tones(const Scan& scan, std::vector<RejectedStretch>* rejected = nullptr);

}  // namespace evenwall::internal::measure
