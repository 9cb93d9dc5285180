// SPDX-License-Identifier: GPL-3.0-or-later
// What moves with tilt, with time or with the way a tilt was reached, and should not.
#pragma once

#include "evenwall/model.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Balance or distortion that moves with tilt beyond geometry: a stylus leaving a wall.
Warnings contact_warnings(const Session& session, const JointFit& joint);

/// How well a setting comes back, from steps that share one; none where no setting was repeated.
std::optional<Repeatability> repeatability_of(const JointFit& joint);

/// Settings that drift with their sequence, differ by the way they were reached, or bend where repeats agree.
Warnings repeat_warnings(const Session& session, const JointFit& joint);

}  // namespace evenwall::internal::solve
