// SPDX-License-Identifier: GPL-3.0-or-later
// Warns of quantities that change with tilt, with time or with the way a tilt was reached, and should not.
#pragma once

#include "evenwall/model.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Balance or distortion that changes with tilt more than geometry explains, as if the stylus left a wall; also own gains of recordings.
Warnings contact_warnings(const Session& session, const JointFit& joint);

/// Repeatability of a setting, from steps that share one. Empty if no setting was repeated, or without phases.
std::optional<Repeatability> repeatability_of(const JointFit& joint);

/// Settings that drift with their sequence, that differ by the way they were reached, or that lie on a curve although repeats agree.
Warnings repeat_warnings(const Session& session, const JointFit& joint);

}  // namespace evenwall::internal::solve
