// SPDX-License-Identifier: GPL-3.0-or-later
// Where a tilt's uncertainty comes from.
#pragma once

#include <vector>

#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Variance of a criterion's tilt by linear propagation under the likeliest account, degrees².
double linear_variance_deg2(CriterionKind kind, double tilt_deg, const TiltAccount& account);

/// Terms whose root-sum-square is `tilt.u_deg`: gauge scale, gauge, gain ratio and cut level, signal scatter, gauge zero, record,
/// electronics; if there are such: slopes of the response, warp of a sweep.
///
/// Each term is what the variance loses when its cause is taken away, one after the other, so that together they make the whole.
std::vector<UncertaintyTerm> uncertainty_budget(CriterionKind kind, const CriterionTilt& tilt, const JointFit& joint);

}  // namespace evenwall::internal::solve
