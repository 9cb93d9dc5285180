// SPDX-License-Identifier: GPL-3.0-or-later
// Constants of the method: how an archive is decomposed. Each with its unit and reason; docs/method.md says more.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>

#include "evenwall/units.hpp"

namespace evenwall::internal::survey {

// archive
inline constexpr std::size_t kMostNamed = 5;          // names in one warning
inline constexpr double kChanceAgreement_deg = 1e-4;  // tilts written to this grid may agree by chance; ones with more digits don't

// decomposition
inline constexpr double kFalseAlarm = 0.01;  // an archive without a bad solution is accused this often
inline constexpr double kRoundShare = 0.7;   // of the largest residual: smaller ones may owe theirs to it
inline constexpr double kMostBad = 0.2;      // of all solutions: more are no exceptions
inline constexpr std::size_t kFewestToJudge = 6;
inline constexpr int kMostRounds = 50;

// drift
inline constexpr double kDaysInYear = 365.25;

// survey
inline constexpr double kDrifts = 0.01;  // two-sided p below which a drift is warned of

}  // namespace evenwall::internal::survey
