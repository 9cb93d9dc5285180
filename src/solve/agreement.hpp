// SPDX-License-Identifier: GPL-3.0-or-later
// Whether the crosstalk of some steps is that of one cartridge.
#pragma once

#include <cmath>
#include <cstddef>
#include <vector>

#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

/// Rows of the observations, ascending.
using Rows = std::vector<std::size_t>;

struct Agreement {
  SignalFit fit;
  double chi2 = HUGE_VAL;  ///< also of a fit that found no numbers
  double p_value = 0;
};

/// The crosstalk of some steps, and hardly anything beside it: the levels are so uncertain that they only hold the gain if the crosstalk
/// shows nothing of it. Up to three steps keep theirs, because their crosstalk alone suits many a gain that the levels know better. If each
/// recording has a gain of its own, levels and phases stay: nothing else shows it.
std::vector<Observation> leaks_of(const std::vector<Observation>& observations, const Rows& rows, const GainPriors& priors);

/// Whatever is expected of cut levels and phases, crosstalk that agrees at some gain agrees: bands may be cut decibels apart, and a chain
/// may turn a channel by any angle. The stated gain is tried if that much freedom finds nothing, as with captures at one tilt.
Agreement agreement(const std::vector<Observation>& leaks, const GainPriors& stated);

/// The phase that the both-channel passages show is the one expected, whatever it is.
GainPriors at_phase_seen(const std::vector<Observation>& observations, GainPriors priors);

}  // namespace evenwall::internal::solve
