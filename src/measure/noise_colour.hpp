// SPDX-License-Identifier: GPL-3.0-or-later
// Estimates how much more the slow part of a ratio scatters than white noise explains.
#pragma once

namespace evenwall::internal::measure {

/// Scatter of a fit's residuals on one axis of the ratio: the sum of squares of the blocks' influences on the constant, divided by the
/// value that white noise gives, and the degrees of freedom of this quotient.
struct BlockScatter {
  double ratio = 1;
  double degrees_of_freedom = 0;
};

/// Posterior means, as multiples of the variance of white noise.
struct NoiseColour {
  double noise = 1;   ///< factor for both axes, at least 1; above 1 if noise close to the tone is louder than further away
  double along = 0;   ///< added along the lean only; caused by slow changes that do not recur with the turn
  double across = 0;  ///< added across the lean only
};

/// Both excesses are zero or log-normal, each with a prior probability; the likelihood of a block scatter is chi-square.
/// With few degrees of freedom the prior dominates, because a short passage cannot exclude slow changes.
/// slow_variance: variance of the constant caused by a slow change of kSlowChange_deg, divided by that caused by white noise.
/// Source: docs/method.md, "Noise colour".
NoiseColour noise_colour(const BlockScatter& along, const BlockScatter& across, double slow_variance);

}  // namespace evenwall::internal::measure
