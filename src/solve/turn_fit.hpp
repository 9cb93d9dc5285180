// SPDX-License-Identifier: GPL-3.0-or-later
// Finds where least crosstalk lies from the position of the cartridge in one recording, by the signal alone.
#pragma once

#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// The signal's fit gives the tilt ψ_i of each recording from least crosstalk, without any log. If no tilt is logged, tilts count from
/// recording r, and least crosstalk lies at
///
///     φ0 = −ψ_r      u²(φ0) = u²(ψ_r)      cov(φ0, g) = −cov(ψ_r, g)
///
/// with g the common unknowns. The geometric slope of the response replaces the gauge: one degree turns the crosstalk by one degree. No
/// term of a gauge is contained. `u_record_rad`: standard uncertainty of the record's cutting-azimuth error.
/// Requires: `from` is a row of the fit. Source: docs/method.md, "Sessions without a gauge".
TiltAccount turn_account(const SignalFit& signal, std::size_t from, double u_record_rad);

/// The account as a fit, of probability 1. Throws: Error(kData) as throw_no_numbers() does.
TiltFit fit_turn(const SignalFit& signal, std::size_t from, const GaugePriors& priors);

/// The fit of the signal with the tilts of the first steps only. The common unknowns keep what all steps show. Requires: steps ≤ those of
/// the fit.
SignalFit with_tilts_of_first(std::size_t steps, const SignalFit& signal);

/// Standard uncertainty of the angle between two recordings, by the signal alone, radians.
double u_between_rad(const SignalFit& signal, std::size_t one, std::size_t other);

/// Whether the tilts of the recordings differ by so much that the response shows the gain ratio of the channels.
bool azimuths_differ(const SignalFit& signal);

}  // namespace evenwall::internal::solve
