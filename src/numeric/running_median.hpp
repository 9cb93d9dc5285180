// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the median of a moving window.
#pragma once

#include <cstddef>
#include <vector>

namespace evenwall::internal::numeric {

/// For each value, the median of the values at most `half` places away; near the ends the window is shorter.
///
/// The window stays sorted: each value costs moves of at most the window's width instead of a sort. Requires: no value is NaN.
std::vector<double> running_median(const std::vector<double>& values, std::size_t half);

}  // namespace evenwall::internal::numeric
