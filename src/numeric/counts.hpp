// SPDX-License-Identifier: GPL-3.0-or-later
// Computes whole counts from lengths and rates: rows per block, frames per hop, parts of a passage.
#pragma once

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>

namespace evenwall::internal::numeric {

/// The nearest whole number, but at least 1. A loop with a stride or block of 0 would never end, even if lengths that lead to 0 are rare.
/// Every such count is therefore computed here. Requires: finite, and no more than kMostCounted.
inline constexpr double kMostCounted = 1e15;
inline std::size_t at_least_one(double count) {
  assert(std::isfinite(count) && count <= kMostCounted);
  return static_cast<std::size_t>(std::lround(std::clamp(count, 1.0, kMostCounted)));
}

/// The stride that takes about `enough` of the rows. Requires: enough > 0.
inline std::size_t stride_for(std::size_t rows, std::size_t enough) {
  assert(enough > 0);
  return std::max<std::size_t>(1, rows / enough);
}

/// Rows per block of influence: the wanted number, but few enough to give `terms` + 6 blocks; at least 1.
inline std::size_t rows_per_block(std::size_t rows, double wanted, std::size_t terms) {
  return std::min(stride_for(rows, terms + 6), at_least_one(wanted));
}

}  // namespace evenwall::internal::numeric
