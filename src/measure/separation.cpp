// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/separation.hpp"

#include <fmt/format.h>

#include <cmath>

#include "evenwall/units.hpp"
#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {
namespace {

/// If both directions were measured, the geometric mean, which does not depend on gains; otherwise the measured one.
double separation_db(const LeakPair& leaks) {
  double sum_db = 0, ways = 0;
  for (const auto* leak : {&leaks.right_into_left, &leaks.left_into_right}) {
    if (!*leak) continue;
    sum_db -= decibels(std::max(1e-10, std::abs((*leak)->same_passage.value)));
    ways += 1;
  }
  return sum_db / ways;
}

/// Advice from the crosstalk in the two directions: mixing adds the same to both, a tilt adds to one what it subtracts from the other.
std::string advice(const LeakPair& leaks) {
  const auto& rl = leaks.right_into_left;
  const auto& lr = leaks.left_into_right;
  if (!rl || !lr || !rl->re || !lr->re) return "Capture both bands, and check that no mono switch or blend is on.";
  const double alike = 0.5 * std::hypot(*rl->re + *lr->re, *rl->im + *lr->im);
  const double opposite = 0.5 * (*rl->re - *lr->re);
  if (alike > std::abs(opposite)) {
    return "Each channel contains the other equally. Check that no mono switch, blend or joint-stereo coding is on, and that no ground "
           "lead is disconnected.";
  }
  return fmt::format("An azimuth error of {:.0f}° causes such crosstalk. Set the cartridge upright by eye first.",
                     degrees(std::atan(std::abs(opposite))));
}

}  // namespace

Warnings separation_warnings(const LeakPair& leaks) {
  if (!leaks.right_into_left && !leaks.left_into_right) return {};
  const double apart_db = separation_db(leaks);
  if (apart_db >= kLeastSeparation_db) return {};
  return {{WarningCode::kLowSeparation, fmt::format("the separation of left and right is only {:.1f} dB at {:.1f} Hz. {}", apart_db,
                                                    leaks.frequency_hz, advice(leaks))}};
}

}  // namespace evenwall::internal::measure
