// SPDX-License-Identifier: GPL-3.0-or-later
// Accounts of a gauge whose settings have errors of their own.
#pragma once

#include "solve/gauge_candidates.hpp"

namespace evenwall::internal::solve {

/// A gauge of known spread: no setting wrong, each one in turn, and two at once.
WeighedAccounts stated_accounts(const GaugeProblem& problem, double general_rad);

/// Four settings or more: the gauge's scatter by restricted maximum likelihood, Student's t on what is left.
WeighedAccounts scatter_accounts(GaugeProblem& problem);

/// Three settings: a mixture of normals over the grid, and beyond its end if the scatter is. `understated`: what steps state of their own
/// is too small.
WeighedAccounts grid_accounts(GaugeProblem& problem, bool understated);

/// Standard deviation of rounding to halves or quarters of a degree, if all logged tilts are such; else 0.
double rounding_rad(const GaugeProblem& problem);

}  // namespace evenwall::internal::solve
