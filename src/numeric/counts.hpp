// SPDX-License-Identifier: GPL-3.0-or-later
// Whole counts from lengths and rates: rows to a block, frames to a hop, parts of a passage.
#pragma once

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>

namespace evenwall::internal::numeric {

/// The nearest whole number, 1 at least. A stride or block of 0 never comes to the end of its table, however rare the lengths that lead
/// to it: every such count is made here. Requires: finite, and no more than kMostCounted.
inline constexpr double kMostCounted = 1e15;
inline std::size_t at_least_one(double count) {
  assert(std::isfinite(count) && count <= kMostCounted);
  return static_cast<std::size_t>(std::lround(std::clamp(count, 1.0, kMostCounted)));
}

/// Every how many rows one is taken so that about `enough` of them are. Requires: enough > 0.
inline std::size_t stride_for(std::size_t rows, std::size_t enough) {
  assert(enough > 0);
  return std::max<std::size_t>(1, rows / enough);
}

/// Rows to a block of influence: as many as are asked for, and so few that `terms` + 6 blocks come of them. 1 at least.
inline std::size_t rows_per_block(std::size_t rows, double wanted, std::size_t terms) {
  return std::min(stride_for(rows, terms + 6), at_least_one(wanted));
}

}  // namespace evenwall::internal::numeric
