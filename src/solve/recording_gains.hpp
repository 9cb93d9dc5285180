// SPDX-License-Identifier: GPL-3.0-or-later
// Determines whether the recordings of a session have one gain and delay between their channels, or each its own.
#pragma once

#include <vector>

#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

struct RecordingSpread {
  GainSpread spread;
  double log_weight;  ///< prior × evidence, natural logarithm; comparable for the same recordings with other wiring
};

/// The most probable spread of the recordings' own gains and phases. It is zero if one gain explains all readings, as in most sessions; the
/// answer then does not change. No course in time is assumed: a turned knob, a drift and a jitter are all described by a spread.
///
/// Own gains compete with crosstalk that scatters more than its stated uncertainty. The latter is handled in odd_steps.
///
/// Prior: half for no spread, the rest flat in the spread's logarithm, for gain and phase each. Evidence: Laplace's of the signal's fit.
/// Cost: some fifty fits of up to kOwnGainMostSteps steps, if the readings contradict one gain; otherwise two fits.
/// Requires: observations not empty, phases known, channels in their places. Source: docs/method.md, "The fit of the crosstalk".
RecordingSpread recording_spread(const std::vector<Observation>& observations, const GainPriors& priors);

}  // namespace evenwall::internal::solve
