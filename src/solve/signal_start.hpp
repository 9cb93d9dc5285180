// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the values from which the signal's fit starts.
#pragma once

#include <vector>

#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

/// Tilts, gains and shape from slopes and means of the ratios; own gains of the recordings from their levels and both-channel passages. The
/// covariance is still empty. Requires: observations not empty.
SignalFit signal_start(const std::vector<Observation>& observations, const GainPriors& priors);

}  // namespace evenwall::internal::solve
