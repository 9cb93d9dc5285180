// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/ranges.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>
#include <vector>

#include "base/ranges_table.hpp"

namespace evenwall::internal::base {
namespace {

constexpr bool comes_before(const Range& row, const std::pair<std::string_view, std::string_view>& name) {
  return row.family != name.first ? row.family < name.first : row.key < name.second;
}

const Range* find(std::string_view family, std::string_view key) {
  const std::pair name{family, key};
  const auto* at = std::lower_bound(kRanges.begin(), kRanges.end(), name, comes_before);
  return at != kRanges.end() && at->family == family && at->key == key ? &*at : nullptr;
}

const std::vector<const Range*>& rows_below_a_parent() {
  static const std::vector<const Range*> rows = [] {
    std::vector<const Range*> found;
    for (const Range& row : kRanges) {
      if (row.key.find('/') != std::string_view::npos) found.push_back(&row);
    }
    return found;
  }();
  return rows;
}

}  // namespace

std::span<const Range> all_ranges() { return kRanges; }

const Range& range_of(std::string_view family, std::string_view parent, std::string_view key) {
  // Only a few rows belong to one parent. Comparing without joining strings saves time, because a long document has many numbers.
  for (const Range* row : rows_below_a_parent()) {
    const bool same = row->family == family && row->key.size() == parent.size() + 1 + key.size() && row->key.starts_with(parent) &&
                      row->key.ends_with(key) && row->key[parent.size()] == '/';
    if (same) return *row;
  }
  if (const Range* alone = find(family, key)) return *alone;
  throw std::logic_error(fmt::format("no range of {} {}", family, key));
}

bool in_range(const Range& range, double value) {
  if (!(value >= range.low && value <= range.high)) return false;
  if ((range.low_excluded && value == range.low) || (range.high_excluded && value == range.high)) return false;
  return !range.whole || value == std::floor(value);
}

std::string limits_text(const Range& range) {
  if (range.low == -range.high && !range.whole) return fmt::format("the limit is {:.10g}{}", range.high, range.unit);
  if (range.low_excluded) return fmt::format("more than {:.10g} and up to {:.10g}{} is possible", range.low, range.high, range.unit);
  return fmt::format("{}{:.10g} to {:.10g}{} is possible", range.whole ? "a whole number from " : "", range.low, range.high, range.unit);
}

std::string out_of_range_text(const Range& range, double value) { return fmt::format("{:g}; {}", value, limits_text(range)); }

}  // namespace evenwall::internal::base
