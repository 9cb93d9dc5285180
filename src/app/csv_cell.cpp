// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/csv_cell.hpp"

#include <fmt/format.h>

#include "base/text.hpp"

namespace evenwall::internal::app {

std::string text_cell(const std::string& text) {
  std::string shown = base::escaped(text);
  if (!shown.empty() && std::string("=+-@").find(shown[0]) != std::string::npos) shown.insert(0, "'");
  if (shown.find_first_of(",;\"") == std::string::npos) return shown;
  std::string quoted = "\"";
  for (const char c : shown) quoted += c == '"' ? "\"\"" : std::string(1, c);
  return quoted + "\"";
}

std::string number_cell(const OptionalNumber& value) { return value ? fmt::format("{}", *value) : ""; }

}  // namespace evenwall::internal::app
