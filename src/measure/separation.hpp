// SPDX-License-Identifier: GPL-3.0-or-later
// Warns if the channels are too little separated to come from one groove wall each.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall::internal::measure {

/// Warns if the channels are less than 15 dB apart, and states whether the crosstalk looks like mono mixing (the same both ways) or like a
/// tilted cartridge (opposite). Empty if they are further apart.
/// Source: 15 dB is the least separation that DIN 45500-3:1984 requires of a pick-up at 0.5 and 6.3 kHz (seen in secondary sources). Its
/// use at every frequency is a judgement.
Warnings separation_warnings(const LeakPair& leaks);

}  // namespace evenwall::internal::measure
