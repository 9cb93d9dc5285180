// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the constants of the method for the decomposition of an archive, each with its unit and reason; docs/method.md explains them.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>

#include "evenwall/units.hpp"

namespace evenwall::internal::survey {

// archive
inline constexpr std::size_t kMostNamed = 5;          // names in one warning
inline constexpr double kChanceAgreement_deg = 1e-4;  // tilts written to this grid may agree by chance; tilts with more digits do not

// decomposition
inline constexpr double kFalseAlarm = 0.01;  // share of archives without a bad solution in which one is flagged
inline constexpr double kRoundShare = 0.7;   // of the largest residual: it may have caused smaller ones
inline constexpr double kMostBad = 0.2;      // of all solutions: more are no exceptions
inline constexpr std::size_t kFewestToJudge = 6;
inline constexpr int kMostRounds = 50;

// drift
inline constexpr double kDaysInYear = 365.25;

// survey
inline constexpr double kDrifts = 0.01;  // two-sided p below which a warning reports a drift

}  // namespace evenwall::internal::survey
