// SPDX-License-Identifier: GPL-3.0-or-later
// Accounts of a gauge whose settings' errors hang together, and of a log with two rows exchanged.
#pragma once

#include "solve/gauge_candidates.hpp"

namespace evenwall::internal::solve {

/// `stated_rad`: the settings' own spread, if it is stated; else it is found with the structure's size. Empty if the order of the captures
/// cannot show the structure. Requires: three settings or more, structure not kIndependent.
WeighedAccounts structured_accounts(const GaugeProblem& problem, GaugeStructure structure, OptionalNumber stated_rad);

/// Mean square of what a straight line in the log leaves of a walk of unit moves, over that of independent settings of unit spread: sized
/// by it both scatter alike about the line, so that neither is likelier for being taken up by it. Requires: three settings or more.
double moves_left(const GaugeProblem& problem);

/// Of each pair of rows whose exchange straightens the log. `stated_rad` as above. The prior of an exchange is included.
WeighedAccounts exchanged_accounts(const GaugeProblem& problem, OptionalNumber stated_rad);

}  // namespace evenwall::internal::solve
