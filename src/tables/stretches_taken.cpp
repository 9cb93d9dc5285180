// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/stretches_taken.hpp"

#include <filesystem>
#include <functional>
#include <iterator>
#include <limits>
#include <string>

namespace evenwall::internal::tables {

std::optional<int> StretchesTaken::take(const LogEntry& entry, int line) {
  const std::size_t capture = std::hash<std::string>{}(std::filesystem::path(entry.capture).lexically_normal().string());
  const double from_s = entry.from_s.value_or(0);
  const Rest wanted{entry.to_s.value_or(std::numeric_limits<double>::infinity()), line, entry.tilt_deg, entry.tilt_units};
  const auto after = stretches_.lower_bound({capture, from_s});
  const bool is_of_capture = after != stretches_.end() && after->first.first == capture;
  if (is_of_capture && after->first.second == from_s && is_repeated(after->second, wanted)) return std::nullopt;
  if (is_of_capture && after->first.second < wanted.to_s) return after->second.line;
  if (after != stretches_.begin() && std::prev(after)->first.first == capture && std::prev(after)->second.to_s > from_s)
    return std::prev(after)->second.line;
  stretches_.emplace(std::pair{capture, from_s}, wanted);
  return std::nullopt;
}

bool StretchesTaken::is_repeated(const Rest& a, const Rest& b) {
  const bool one_has_no_tilt = (!a.tilt_deg && !a.tilt_units) || (!b.tilt_deg && !b.tilt_units);
  const bool same_tilt = a.tilt_deg == b.tilt_deg && a.tilt_units == b.tilt_units;
  return a.to_s == b.to_s && (same_tilt || one_has_no_tilt);
}

}  // namespace evenwall::internal::tables
