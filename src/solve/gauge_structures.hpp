// SPDX-License-Identifier: GPL-3.0-or-later
// Builds the accounts of a gauge with related errors of its settings, and of a log with two rows exchanged.
#pragma once

#include "solve/gauge_candidates.hpp"

namespace evenwall::internal::solve {

/// `stated_rad`: the settings' own spread, if it is stated; otherwise it is estimated together with the structure's magnitude. Returns no
/// candidates if the order of the captures cannot show the structure. Requires: three settings or more, structure not kIndependent; the
/// problem outlives the candidates.
Candidates structure_candidates(const GaugeProblem& problem, GaugeStructure structure, OptionalNumber stated_rad);

/// Mean-square residual of a walk of unit moves about a straight line in the log, divided by that of independent settings of unit spread. A
/// walk scaled by it scatters about the line as independent settings do, so that neither is favoured because the line absorbs more of it.
/// Requires: three settings or more.
double moves_left(const GaugeProblem& problem);

/// Accounts with two rows exchanged, for each pair that straightens the log if it is exchanged. `stated_rad` as above. The prior of an
/// exchange is included.
WeighedAccounts exchanged_accounts(const GaugeProblem& problem, OptionalNumber stated_rad);

}  // namespace evenwall::internal::solve
