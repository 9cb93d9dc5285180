// SPDX-License-Identifier: GPL-3.0-or-later
// Computes each step's correction to the logged azimuth (signal minus log), and compares the captures that are not fitted with the fit.
#pragma once

#include <vector>

#include "evenwall/model.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Returns the steps in ascending order of logged tilt, then of capture name. A step that is not fitted has `used` false; it is listed only
/// if it is measured and its setting is logged in the unit of the fit.
std::vector<SolvedStep> audited_steps(const Session& session, const JointFit& joint);
Warnings audit_warnings(const std::vector<SolvedStep>& steps, const JointFit& joint);

/// Returns the first measured capture that is logged as_found, or nothing if there is no such capture.
std::optional<AsFound> as_found_of(const Session& session, const JointFit& joint);
/// Compares the captures logged verify with the prediction at their tilt. Adds a warning for each capture with a setting that cannot be
/// compared with the fit.
std::vector<Verification> verifications_of(const Session& session, const JointFit& joint, Warnings& warnings);

}  // namespace evenwall::internal::solve
