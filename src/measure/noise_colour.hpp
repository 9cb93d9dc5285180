// SPDX-License-Identifier: GPL-3.0-or-later
// How much more the slow part of a ratio scatters than its white noise allows.
#pragma once

namespace evenwall::internal::measure {

/// What a fit's residuals on one axis of the ratio show: the sum of squares of their influences on the constant in blocks, over what white
/// noise gives, and the degrees of freedom of that figure.
struct BlockScatter {
  double ratio = 1;
  double degrees_of_freedom = 0;
};

/// Posterior means, as multiples of white noise's variance.
struct NoiseColour {
  double noise = 1;   ///< alike on both axes, 1 at least: noise close to the tone is louder than around it
  double along = 0;   ///< added along the lean alone: slow changes that do not recur with the turn
  double across = 0;  ///< added across it
};

/// Both excesses are zero or log-normal, each with a prior probability; the likelihood of a block scatter is chi-square.
/// If there are few degrees of freedom, then the prior remains: a short passage cannot exclude slow changes.
/// slow_variance: of the constant, by a slow change of kSlowChange_deg, over white noise's variance.
/// Source: docs/method.md, "One leak".
NoiseColour noise_colour(const BlockScatter& along, const BlockScatter& across, double slow_variance);

}  // namespace evenwall::internal::measure
