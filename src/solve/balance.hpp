// SPDX-License-Identifier: GPL-3.0-or-later
// How alike the two channels are, and whose doing it is.
#pragma once

#include "evenwall/model.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Balance of cartridge and preamplifier together by levels and by the tilt response; of each alone where steps with swapped leads part
/// them.
Balance balance_of(const JointFit& joint);

}  // namespace evenwall::internal::solve
