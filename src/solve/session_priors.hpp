// SPDX-License-Identifier: GPL-3.0-or-later
// Turns the facts that a session states into priors of its fits.
#pragma once

#include "evenwall/model.hpp"
#include "solve/signal_fit.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// The cut levels in nepers, from decibels.
GainPriors gain_priors(const SessionFacts& facts);

/// `in_degrees`: whether the log is in degrees. Options count before facts.
GaugePriors gauge_priors(const SessionFacts& facts, const SolveOptions& options, bool in_degrees);

}  // namespace evenwall::internal::solve
