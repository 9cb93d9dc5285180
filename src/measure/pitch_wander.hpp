// SPDX-License-Identifier: GPL-3.0-or-later
// Measures how steady the pitch of a tone is, which separates a generator from a record.
#pragma once

#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::measure {

/// Robust standard deviation of the frequency of a tone, over means of a quarter of a second, in percent of the frequency.
///
/// middle_s: times of the frames, hop_s apart except where frames are missing. driven: the tone against a steady oscillator near it.
/// Nothing if fewer than four quarters of a second are whole. Requires: equal sizes; hop_s > 0; frequency_hz > 0.
OptionalNumber pitch_wander_percent(const std::vector<double>& middle_s, const std::vector<Complex>& driven, double hop_s,
                                    double frequency_hz);

}  // namespace evenwall::internal::measure
