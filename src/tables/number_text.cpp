// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/number_text.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace evenwall::internal::tables {

std::optional<double> parse_number(std::string_view text, DecimalMark mark) {
  const std::size_t first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return std::nullopt;
  std::string digits(text.substr(first, text.find_last_not_of(" \t") - first + 1));
  if (digits.front() == '+') {
    digits.erase(0, 1);
    if (digits.starts_with('-')) return std::nullopt;
  }
  if (mark == DecimalMark::kPointOrComma) std::replace(digits.begin(), digits.end(), ',', '.');
  double value = 0;
  const char* end = digits.data() + digits.size();
  const auto [stopped, error] = std::from_chars(digits.data(), end, value);
  if (error != std::errc() || stopped != end || !std::isfinite(value)) return std::nullopt;
  return value;
}

}  // namespace evenwall::internal::tables
