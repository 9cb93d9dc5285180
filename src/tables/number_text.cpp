// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/number_text.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace evenwall::internal::tables {
namespace {

constexpr std::string_view kMinusSign = "\xe2\x88\x92";  // U+2212
constexpr std::string_view kEnDash = "\xe2\x80\x93";     // U+2013, which word processors put in place of a hyphen
constexpr std::string_view kDegreeSign = "\xc2\xb0";     // U+00B0

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

}  // namespace

std::optional<double> parse_number(std::string_view text) {
  std::string digits(trimmed(text));
  if (digits.empty()) return std::nullopt;
  for (const std::string_view minus : {kMinusSign, kEnDash}) {
    if (digits.starts_with(minus)) digits.replace(0, minus.size(), "-");
  }
  if (digits.front() == '+') {
    digits.erase(0, 1);
    if (digits.starts_with('-')) return std::nullopt;
  }
  std::replace(digits.begin(), digits.end(), ',', '.');
  double value = 0;
  const char* end = digits.data() + digits.size();
  const auto [stopped, error] = std::from_chars(digits.data(), end, value);
  if (error != std::errc() || stopped != end || !std::isfinite(value)) return std::nullopt;
  return value;
}

std::optional<double> parse_number_of(std::string_view column, std::string_view text) {
  const bool is_angle = column.ends_with("_deg") || column == "tilt_units" || column == "tilt_u";
  text = trimmed(text);
  if (is_angle && text.ends_with(kDegreeSign)) text.remove_suffix(kDegreeSign.size());
  return parse_number(text);
}

std::string column_name(std::string_view cell) {
  std::string name(trimmed(cell));
  for (char& c : name) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  return name;
}

}  // namespace evenwall::internal::tables
