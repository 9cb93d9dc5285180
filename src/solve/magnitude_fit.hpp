// SPDX-License-Identifier: GPL-3.0-or-later
// The joint fit of a session read with a voltmeter: sizes of the leaks, no phases.
#pragma once

#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

struct MagnitudeFit {
  SignalFit signal;  ///< psi: each step's tilt by its own two sizes, given the common unknowns; covariance of psi diagonal
  TiltFit tilt;
};

/// Only |ratios| and levels of the observations are read. With no phases the log has to be in the fit from the start: tilts, response,
/// φ0 and k are fitted together, by ln|ratio|, whose errors are the meter's decibels. The quadratures' signs can't be known and are
/// given as positive.
/// Requires: three settings at least. Accuracy: 95 % intervals hold (tests/unit/solve/magnitude_fit_test.cpp).
/// Source: docs/method.md, "A voltmeter only".
MagnitudeFit fit_magnitudes(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge);

/// Its signal part alone: nobody put to the test.
SignalFit magnitude_signal(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge);

/// One account: the gauge as stated, nobody wrong, from a fit that lies near.
TiltAccount magnitudes_as_stated(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge,
                                 const TiltAccount& near);

}  // namespace evenwall::internal::solve
