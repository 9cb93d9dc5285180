// SPDX-License-Identifier: GPL-3.0-or-later
// What the analysis should find, from the exact response and by slow means.
#pragma once

#include <vector>

#include "simulate/playback.hpp"

namespace evenwall::internal::simulate {

/// Leaks of generator and record against the receiving channel's own level: no gains, electronics, cut levels or wiring.
struct TrueLeaks {
  Complex right_into_left;
  Complex left_into_right;
};
TrueLeaks true_leaks(double tilt_deg, const Scenario& scenario);

/// True tilt of each step, gauge errors drawn.
std::vector<double> true_tilts_deg(const Scenario& scenario, std::uint64_t seed);

SimulatedTruth truth_of(const Scenario& scenario, std::uint64_t seed);

}  // namespace evenwall::internal::simulate
