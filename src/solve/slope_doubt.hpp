// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the uncertainty of least crosstalk if each channel's crosstalk may not change with the tilt as geometry predicts.
#pragma once

#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// Standard uncertainty of least crosstalk, radians, if the crosstalk of each channel changes by 1 + e times what geometry gives,
/// both parts of e with standard deviation `slope_u`, independently in both channels.
///
/// The common part of both channels' e, with the standard deviation slope_u/√2, acts as an error of the log's scale: least crosstalk in
/// degrees is off by that share of itself, and the number to set on the gauge is not. Half the difference, δ, acts as an error of the gain
/// ratio, which is found from the slopes:
///
///     x_rl = ψ(1 + δ) + σ + j s_L      x_lr = −ψ(1 − δ) + σ + j s_R
///
/// After division by that gain, the tilts are off by σ Re δ, and least crosstalk itself lies at −σ Re δ: 2σ Re δ in all. Equal crosstalk
/// moves by as much in first order. Re δ has the standard deviation slope_u/√2. No session shows δ, so its uncertainty is as stated.
double slope_doubt_rad(double slope_u, const TiltAccount& account);

/// Adds this uncertainty to the account's covariance of least crosstalk and scale.
void add_slope_doubt(double slope_u, TiltAccount& account);

}  // namespace evenwall::internal::solve
