// SPDX-License-Identifier: GPL-3.0-or-later
// Whether a meter's readings belong to one cartridge, which only the log can tell.
#pragma once

#include "solve/observations.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// Sets aside the one row of a meter's table that is odd, and says so: of five rows or more, thirty at most, where the others agree without
/// it, and do not with it or without any other, were any one row logged wrong by some 0.6°. Requires: sizes only.
void settle_sizes(const Session& session, const GainPriors& gains, const GaugePriors& gauge, Observations& observations);

}  // namespace evenwall::internal::solve
