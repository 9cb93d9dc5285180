// SPDX-License-Identifier: GPL-3.0-or-later
// The median of a window that moves along.
#pragma once

#include <cstddef>
#include <vector>

namespace evenwall::internal::numeric {

/// For each value the median of those at most `half` places away; near the ends the window is what there is of it.
///
/// The window is kept in order: its width to move along for each value, not to sort. Requires: no value is NaN.
std::vector<double> running_median(const std::vector<double>& values, std::size_t half);

}  // namespace evenwall::internal::numeric
