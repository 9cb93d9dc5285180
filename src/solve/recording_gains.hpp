// SPDX-License-Identifier: GPL-3.0-or-later
// Whether the recordings of a session have one gain and delay between their channels, or each its own.
#pragma once

#include <vector>

#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

struct RecordingSpread {
  GainSpread spread;
  double log_weight;  ///< prior × evidence, natural logarithm: to be compared for the same recordings with other wiring
};

/// The most probable spread of the recordings' own gains and phases. None if one gain explains all readings, as it does in most sessions:
/// then nothing of the answer changes. No course in time is assumed: a knob that was turned, a drift and a jitter are all spreads.
///
/// They compete with crosstalk that scatters more than it states, which is then handled as such (odd_steps).
///
/// Prior: half for no spread, the rest flat in the spread's logarithm, for gain and phase each. Evidence: Laplace's of the signal's fit.
/// Cost: some thirty fits of at most kOwnGainMostSteps steps, if the readings contradict one gain; otherwise one fit.
/// Requires: observations not empty, phases known, channels in their places. Source: docs/method.md, "The signal's part".
RecordingSpread recording_spread(const std::vector<Observation>& observations, const GainPriors& priors);

}  // namespace evenwall::internal::solve
