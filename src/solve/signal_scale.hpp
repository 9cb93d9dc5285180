// SPDX-License-Identifier: GPL-3.0-or-later
// Considers that the crosstalk may change with the tilt by another factor than geometry gives: in both channels alike by 1 + s.
#pragma once

#include <vector>

#include "evenwall/model.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// The cases that are considered: s = 0, or a driven channel that is compressed and an undriven one that is not, so that both crosstalk
/// ratios are too large. `slope_u`: as stated in the session, of each channel. `third_harmonic_percent`: of the tones; a curve that
/// compresses by c makes a third harmonic of c/3, so a measured one limits c, and makes a compression likelier the larger it is.
std::vector<SignalScale> signal_scales(double slope_u, OptionalNumber third_harmonic_percent);

/// Index of the compressed case in the result of `signal_scales`.
inline constexpr std::size_t kCompressedCase = 1;

/// Median of the third harmonic over the tone passages of both channels near this frequency. Empty if no passage has it.
OptionalNumber third_harmonic_percent(const Session& session, double frequency_hz);

/// Standard uncertainty of the signal's scale that a turn by the crosstalk alone has in addition. A log in degrees does not support such a
/// turn, so a compression too small to be probable counts, too.
double u_turn_scale(OptionalNumber third_harmonic_percent);

/// Converts φ0 and k of each account to true degrees. An account whose prior of κ contains no case is first split into one for each case.
///
/// The fit of the log determines κ = k(1 + s) and φ = φ0(1 + s). With the priors k ~ N(c, u²) and s ~ N(m, v), the prior of κ is
/// N(c + cm, u² + c²v) instead of N(c, u²). The likelihood of κ is that of the account's posterior without its prior, so the new evidence
/// and the new posterior follow in closed form. Given κ, s is normal:
///
///     g = c v/(u² + c²v)     E s = m + g(κ − c − cm)     var s = v(1 − gc)
///
/// Without a prior of k, nothing is learnt of s. The share φ0/κ, which is the number to set on the gauge, does not depend on s.
void add_signal_scales(const std::vector<SignalScale>& scales, std::vector<TiltAccount>& accounts);

/// The case with the largest probability over the accounts that were fitted in a case; 0 if no account was.
std::size_t likely_signal_case(const std::vector<TiltAccount>& accounts);

/// The cases with their probabilities, means and uncertainties as the log left them.
std::vector<SignalScale> learnt_scales(const std::vector<TiltAccount>& accounts);

/// Mean and standard deviation of s over all accounts.
SignalScale overall_scale(const std::vector<TiltAccount>& accounts);

}  // namespace evenwall::internal::solve
