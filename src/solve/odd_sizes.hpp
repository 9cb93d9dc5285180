// SPDX-License-Identifier: GPL-3.0-or-later
// Excludes a meter's reading that does not belong to the cartridge of the other readings. Without phases, only the log can show this.
#pragma once

#include "solve/observations.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// Excludes the one wrong row of a meter's table of five to thirty rows, and warns of it. Conditions: the others agree without this row,
/// but neither with it nor without any other row, even if one row is logged wrong by some 0.6°. Requires: readings without phases.
void settle_sizes(const Session& session, const GainPriors& gains, const GaugePriors& gauge, Observations& observations);

}  // namespace evenwall::internal::solve
