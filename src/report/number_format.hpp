// SPDX-License-Identifier: GPL-3.0-or-later
// Formats numbers for readers, in the same way in every locale.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::report {

inline constexpr int kMostDecimals = 9;  ///< with more decimals a double shows its own rounding
inline constexpr int kHandDecimals = 3;  ///< of degrees: 0.001° is finer than a hand can set or a gauge can show

/// The value with its sign and with as many decimals as uncertainty_text() shows of u: "+1.104".
std::string signed_text(double value, double u, int most_decimals = kMostDecimals);

/// A standard uncertainty with two significant digits: "0.021". An uncertainty too small for `most_decimals` is rounded up.
std::string uncertainty_text(double u, int most_decimals = kMostDecimals);

/// Degrees with sign: "+1.10°". Three decimals are finer than a hand can set.
std::string degrees_text(double angle_deg, int decimals);

/// An interval in degrees, with decimals that match u: "+1.06° to +1.15°".
std::string interval_text(const Interval& interval_deg, double u_deg, int most_decimals = kMostDecimals);

/// Decibels with one decimal, or "n/a": "-33.4 dB".
std::string decibels_text(const OptionalNumber& level_db);

/// A number with `decimals`, or "n/a".
std::string number_text(const OptionalNumber& value, int decimals, bool sign);

}  // namespace evenwall::internal::report
