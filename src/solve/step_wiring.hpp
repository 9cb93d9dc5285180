// SPDX-License-Identifier: GPL-3.0-or-later
// Finds recordings whose leads were connected otherwise than those of the other recordings.
#pragma once

#include <vector>

#include "solve/observations.hpp"

namespace evenwall::internal::solve {

/// How one recording is wired otherwise than most.
struct StepWiring {
  std::size_t row = 0;    ///< of the observations
  bool swapped = false;   ///< left and right channel
  bool reversed = false;  ///< polarity of one channel
};

/// Finds recordings of other wiring: up to three that are flagged by their crosstalk, otherwise up to two of all, or any minority that its
/// both-channel passages show to be reversed. Conditions: the crosstalk of the session contradicts one cartridge at one gain; it agrees
/// with that wiring, and clearly less well with any other of the same recordings; and that wiring is more probable than gains of each
/// recording's own. At least three steps are needed: of two, either may be the one. Requires: phases known, channels in their places.
std::vector<StepWiring> step_wiring(const std::vector<Observation>& observations, const GainPriors& priors);

/// Corrects an observation for that wiring.
void rewire(const StepWiring& wiring, Observation& observation);

}  // namespace evenwall::internal::solve
