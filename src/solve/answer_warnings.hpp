// SPDX-License-Identifier: GPL-3.0-or-later
// Warns of an answer outside the captured tilts or the stylus's limit, and of criteria that disagree.
#pragma once

#include "evenwall/model.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Requires: the criteria, the recommended tilt and the contact of the solution are final.
void warn_of_answer(Solution& solution, const JointFit& joint, const std::string& aim_not_met);

}  // namespace evenwall::internal::solve
