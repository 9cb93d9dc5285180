// SPDX-License-Identifier: GPL-3.0-or-later
// Recordings whose leads were put on otherwise than those of the other recordings.
#pragma once

#include <vector>

#include "solve/observations.hpp"

namespace evenwall::internal::solve {

/// What one recording has otherwise than most.
struct StepWiring {
  std::size_t row = 0;    ///< of the observations
  bool swapped = false;   ///< left and right channel
  bool reversed = false;  ///< polarity of one channel
};

/// Finds up to two recordings of other wiring, or, by their both-channel passages, any minority of reversed ones. Only if the crosstalk of
/// the session contradicts one cartridge at one gain, agrees with it, agrees clearly less well if any other recordings were of other
/// wiring, and if that is more probable than gains of each recording's own. Three steps at least: of two, either may be the one. Requires:
/// phases known, channels in their places.
std::vector<StepWiring> step_wiring(const std::vector<Observation>& observations, const GainPriors& priors);

/// Puts right what that wiring did to an observation.
void rewire(const StepWiring& wiring, Observation& observation);

}  // namespace evenwall::internal::solve
