// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the true values that the analysis should find, from the exact response by slow numerical methods.
#pragma once

#include <vector>

#include "simulate/playback.hpp"

namespace evenwall::internal::simulate {

/// Crosstalk of generator and record relative to the receiving channel's own level, without gains, electronics, cut levels or wiring.
struct TrueLeaks {
  Complex right_into_left;
  Complex left_into_right;
};
TrueLeaks true_leaks(double tilt_deg, const Scenario& scenario);

/// True tilt of each step, with gauge errors drawn at random from the seed.
std::vector<double> true_tilts_deg(const Scenario& scenario, std::uint64_t seed);

SimulatedTruth truth_of(const Scenario& scenario, std::uint64_t seed);

}  // namespace evenwall::internal::simulate
