// SPDX-License-Identifier: GPL-3.0-or-later
// The steps held against the fit.
#pragma once

#include <vector>

#include "evenwall/model.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Every step of the session, in the log's order; unfitted ones with `used` false where they are measured.
std::vector<SolvedStep> audited_steps(const Session& session, const JointFit& joint);
Warnings audit_warnings(const std::vector<SolvedStep>& steps, const JointFit& joint);

/// The capture logged as_found, else nothing.
std::optional<AsFound> as_found_of(const Session& session, const JointFit& joint);
/// Captures logged verify, against the prediction at their tilt; a warning for each whose setting the fit can't read.
std::vector<Verification> verifications_of(const Session& session, const JointFit& joint, Warnings& warnings);

}  // namespace evenwall::internal::solve
