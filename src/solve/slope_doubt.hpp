// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the uncertainty of the criteria if each channel's crosstalk may not change with the tilt as geometry predicts.
#pragma once

#include "solve/geometry.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// Standard uncertainty of a criterion's tilt, radians, if the crosstalk of each channel changes by 1 + e times what geometry gives,
/// both parts of e with standard deviation `slope_u`, independently in both channels.
///
/// The common part of both channels' e, with the standard deviation slope_u/√2, acts as an error of the log's scale, and the log may show
/// it (signal_scale.hpp). `u_scale`: its standard uncertainty after the fit. Half the difference, δ, acts as an error of the gain ratio,
/// which is found from the slopes:
///
///     x_rl = ψ(1 + δ) + σ + j s_L      x_lr = −ψ(1 − δ) + σ + j s_R
///
/// After division by that gain, the tilts are off by σ Re δ, and least crosstalk itself lies at −σ Re δ: 2σ Re δ in all. Equal crosstalk
/// lies at −η s/σ for any δ, with s and η half of the sum and of the difference of s_L and s_R. The fit has s − δη and η − δs in their
/// place, so its equal crosstalk is off by Re δ (σ² + s² + η²)/σ in all. A real gain does not change a phase, so phase match does not move.
/// Re δ has the standard deviation slope_u/√2. No session shows δ, so its uncertainty is as stated.
double slope_doubt_rad(CriterionKind kind, double slope_u, double u_scale, const TiltAccount& account);

/// The variance that the difference of the slopes causes in a criterion's tilt, minus that in least crosstalk, which the account's
/// covariance contains, rad².
double slope_variance_excess_rad2(CriterionKind kind, const TiltAccount& account);
/// The variance that the difference of the slopes causes in a criterion's tilt, rad².
double slope_variance_rad2(CriterionKind kind, const TiltAccount& account);

/// Sets the account's slope_shift_rad, and adds the uncertainty of least crosstalk to its covariance, without that of the common part.
void add_slope_doubt(double slope_u, TiltAccount& account);

/// Widens the crosstalk's covariances by what the imaginary part of e may cause. It changes the phase of the crosstalk's course with the
/// tilt, which is not a contradiction between the steps then. The real part moves ψ itself and is treated above. Requires: `fit` is the
/// fit of these observations.
void allow_for_slopes(double slope_u, const SignalFit& fit, std::vector<Observation>& observations);

/// The observations without that.
std::vector<Observation> without_slopes(std::vector<Observation> observations);

}  // namespace evenwall::internal::solve
