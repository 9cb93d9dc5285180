// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/tilt_columns.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "tables/number_text.hpp"

namespace evenwall::internal::tables {
namespace {

constexpr double kImplausibleTilt_deg = 10;  // no headshell rolls so far; the unit may be arc-minutes or a shim height
constexpr double kTinyTilt_deg = 0.2;        // if all are below, the unit may be radians

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

}  // namespace

bool like_tilt_column(const std::vector<std::string>& columns) {
  const auto is_like = [](std::string name) {
    std::transform(name.begin(), name.end(), name.begin(), lower);
    const auto holds = [&](const char* word) { return name.find(word) != std::string::npos; };
    return name != "tilt_u" && (holds("tilt") || holds("azimuth") || holds("angle") || holds("deg") || holds("unit"));
  };
  return std::any_of(columns.begin(), columns.end(), is_like);
}

void UnitWatch::see(const std::string& cell) {
  const auto tilt = parse_number_of("tilt_deg", cell);
  if (!tilt) return;
  largest_ = std::max(largest_, std::abs(*tilt));
  ++tilts_;
}

void UnitWatch::warn(const std::string& name, Warnings& warnings) const {
  if (largest_ > kImplausibleTilt_deg) {
    warnings.push_back({WarningCode::kUnitSuspect,
                        fmt::format("{}: a tilt_deg has the magnitude {}, which is more than the azimuth of a cartridge can "
                                    "be. The column is read as degrees. If it is in arc-minutes or of a ruler, name it tilt_units.",
                                    name, largest_)});
  } else if (tilts_ > 1 && largest_ > 0 && largest_ < kTinyTilt_deg) {
    warnings.push_back(
        {WarningCode::kUnitSuspect,
         fmt::format("{}: no tilt_deg exceeds {}. The column is read as degrees. If it is in radians, convert it.", name, largest_)});
  }
}

}  // namespace evenwall::internal::tables
