// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the balance of the two channels, and separates the cartridge's part from the preamplifier's.
#pragma once

#include "evenwall/model.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Balance of cartridge and preamplifier together, by levels and by the tilt response. If some steps but not all have swapped leads, also
/// the balance of each alone.
Balance balance_of(const JointFit& joint);

}  // namespace evenwall::internal::solve
