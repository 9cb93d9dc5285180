// SPDX-License-Identifier: GPL-3.0-or-later
// Tests whether the crosstalk of some steps can come from one cartridge.
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
  double chi2 = HUGE_VAL;  ///< stays infinite if the fit found no finite numbers
  double p_value = 0;
};

/// Returns the given rows with little more than their crosstalk. The both-channel phases are removed, and the level ratios become so
/// uncertain that they fix the gain only if the crosstalk does not. A session of up to three steps keeps the uncertainties of its levels,
/// because the crosstalk of so few steps fits many gains, and the levels determine the gain better. If each recording has a gain of its
/// own, levels and phases are kept as they are, because only they show these gains.
std::vector<Observation> leaks_of(const std::vector<Observation>& observations, const Rows& rows, const GainPriors& priors);

/// Tests whether the crosstalk agrees at some gain, whatever cut levels and phases are expected: bands may be cut decibels apart, and a
/// playback chain may shift the phase of a channel by any angle. If this wide prior finds no agreement, as with captures at one tilt, the
/// stated prior is tried too, and the fit with the lower χ² is returned.
Agreement agreement(const std::vector<Observation>& leaks, const GainPriors& stated);

/// Returns the priors with the phase between the channels centred on the mean phase of the both-channel passages, if there are any.
GainPriors at_phase_seen(const std::vector<Observation>& observations, GainPriors priors);

}  // namespace evenwall::internal::solve
