// SPDX-License-Identifier: GPL-3.0-or-later
// Builds the accounts of a gauge with independent errors of its settings.
#pragma once

#include "solve/gauge_candidates.hpp"

namespace evenwall::internal::solve {

/// Accounts of a gauge of known spread: with no setting logged wrong, with each one in turn, and with two at once. general_rad: spread of
/// the settings without a stated one.
WeighedAccounts stated_accounts(const GaugeProblem& problem, double general_rad);

/// Accounts for four settings or more: the gauge's scatter is estimated by restricted maximum likelihood, and the remaining degrees of
/// freedom give Student's t.
WeighedAccounts scatter_accounts(GaugeProblem& problem);

/// Accounts for three settings: a mixture of normals over the grid of spreads, extended if the scatter exceeds the grid. `understated`: the
/// uncertainties that steps state of their own are too small.
WeighedAccounts grid_accounts(GaugeProblem& problem, bool understated);

/// Standard deviation of rounding to 0.5° or 0.25°, if all logged tilts are multiples of it; otherwise 0.
double rounding_rad(const GaugeProblem& problem);

}  // namespace evenwall::internal::solve
