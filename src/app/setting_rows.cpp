// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/setting_rows.hpp"

#include <fmt/format.h>

#include "evenwall/measure.hpp"

namespace evenwall::internal::app {
namespace {

/// The name as a field of a log, unchanged: the log must name the file.
std::string log_field(const std::string& name) {
  if (name.find_first_of(",;\"\t\r\n#") == std::string::npos && !name.starts_with(' ') && !name.ends_with(' ')) return name;
  std::string quoted = "\"";
  for (const char c : name) quoted += c == '"' ? "\"\"" : std::string(1, c);
  return quoted + "\"";
}

}  // namespace

std::string setting_rows(const Reading& reading, const std::vector<Band>& bands) {
  std::string rows;
  for (const SettingStretch& setting : settings_in(*reading.step.measurement(), bands)) {
    rows += fmt::format("{},,{:.2f},{:.2f}\n", log_field(reading.step.log.capture), setting.from_s, setting.to_s);
  }
  return rows;
}

}  // namespace evenwall::internal::app
