// SPDX-License-Identifier: GPL-3.0-or-later
// Fits tilts and response to a session that was read with a voltmeter: magnitudes of the crosstalk, no phases.
#pragma once

#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

struct MagnitudeFit {
  SignalFit signal;  ///< psi: each step's tilt from its own magnitudes at the fitted common unknowns; its covariance is diagonal
  TiltFit tilt;
};

/// Uses only |ratios| and levels of the observations. Without phases the log has to be in the fit from the start: tilts, response, φ0 and
/// k are fitted together to ln|ratio|, whose errors are the meter's decibels. The signs of the quadratures cannot be determined and are
/// returned as positive.
/// Requires: at least three settings. Accuracy: 95 % intervals hold (tests/unit/solve/magnitude_fit_test.cpp).
/// Source: docs/method.md, "A voltmeter only".
MagnitudeFit fit_magnitudes(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge);

/// Only the signal part of that fit. No step is tested for a wrong log entry.
SignalFit magnitude_signal(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge);

/// The account with the gauge as stated and no step logged wrong. The fit starts from `near`.
TiltAccount magnitudes_as_stated(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge,
                                 const TiltAccount& near);

}  // namespace evenwall::internal::solve
