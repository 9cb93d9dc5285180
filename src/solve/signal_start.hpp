// SPDX-License-Identifier: GPL-3.0-or-later
// From where the signal's fit starts.
#pragma once

#include <vector>

#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

/// Tilts, gains and shape by slopes and means of the ratios; gains of the recordings by their levels and both-channel passages. No
/// covariance yet. Requires: observations not empty.
SignalFit signal_start(const std::vector<Observation>& observations, const GainPriors& priors);

}  // namespace evenwall::internal::solve
