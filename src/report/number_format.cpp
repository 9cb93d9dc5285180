// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/number_format.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evenwall/report.hpp"

namespace evenwall::internal::report {
namespace {

constexpr int kSignificantOfU = 2;  // GUM (JCGM 100:2008, from memory) 7.2.6: two significant digits of an uncertainty suffice
constexpr const char* kAbsent = "n/a";

/// The number of decimals that leaves u two significant digits; negative if u rounds to 100 or more.
int decimals_for(double u) {
  if (!(u > 0) || !std::isfinite(u)) return 3;
  const int exponent = static_cast<int>(std::floor(std::log10(u)));
  const int decimals = kSignificantOfU - 1 - exponent;
  const double rounded = std::round(u * std::pow(10.0, decimals));
  return std::min(kMostDecimals, rounded >= std::pow(10.0, kSignificantOfU) ? decimals - 1 : decimals);
}

/// Removes the minus sign from a number that is shown as zero.
std::string without_negative_zero(std::string text) {
  const bool zero = text.find_first_of("123456789") == std::string::npos;
  if (zero && !text.empty() && text[0] == '-') text.erase(0, 1);
  return text;
}

std::string fixed(double value, int decimals) {
  if (!std::isfinite(value)) return kAbsent;
  if (decimals < 0) {
    const double unit = std::pow(10.0, -decimals);
    return without_negative_zero(fmt::format("{:.0f}", std::round(value / unit) * unit));
  }
  return without_negative_zero(fmt::format("{:.{}f}", value, decimals));
}

std::string signed_fixed(double value, int decimals) {
  std::string text = fixed(value, decimals);
  return text[0] == '-' || text == kAbsent ? text : "+" + text;
}

}  // namespace
}  // namespace evenwall::internal::report

namespace evenwall {

std::string value_with_uncertainty(double value, double u) {
  const int decimals = internal::report::decimals_for(u);
  return fmt::format("{} ± {}", internal::report::fixed(value, decimals), internal::report::fixed(u, decimals));
}

}  // namespace evenwall

namespace evenwall::internal::report {

std::string signed_text(double value, double u, int most_decimals) { return signed_fixed(value, std::min(most_decimals, decimals_for(u))); }

std::string uncertainty_text(double u, int most_decimals) {
  const int decimals = std::min(most_decimals, decimals_for(u));
  const double least_shown = u > 0 ? std::pow(10.0, -decimals) : 0.0;
  return fixed(std::max(u, least_shown), decimals);
}

std::string degrees_text(double angle_deg, int decimals) { return signed_fixed(angle_deg, decimals) + "°"; }

std::string interval_text(const Interval& interval_deg, double u_deg, int most_decimals) {
  const int decimals = std::clamp(decimals_for(u_deg), 0, most_decimals);
  return fmt::format("{} to {}", degrees_text(interval_deg[0], decimals), degrees_text(interval_deg[1], decimals));
}

std::string decibels_text(const OptionalNumber& level_db) { return level_db ? fixed(*level_db, 1) + " dB" : kAbsent; }

std::string number_text(const OptionalNumber& value, int decimals, bool sign) {
  if (!value) return kAbsent;
  return sign ? signed_fixed(*value, decimals) : fixed(*value, decimals);
}

}  // namespace evenwall::internal::report
