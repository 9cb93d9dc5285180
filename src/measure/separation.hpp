// SPDX-License-Identifier: GPL-3.0-or-later
// Channels that hold too much of each other to come from a groove wall each.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall::internal::measure {

/// Says so where the channels are less than 15 dB apart, and whether the leaks are those of a mono fold (alike both ways) or of a lean
/// (opposite). Empty where they are further apart.
/// Source: 15 dB is the least that DIN 45500-3 allows a pick-up away from 1 kHz (seen in excerpts of the text of 1984).
Warnings separation_warnings(const LeakPair& leaks);

}  // namespace evenwall::internal::measure
