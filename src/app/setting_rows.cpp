// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/setting_rows.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <system_error>

#include "evenwall/measure.hpp"

namespace evenwall::internal::app {

namespace fs = std::filesystem;

namespace {

/// The name as a field of a log, unchanged: the log must name the file.
std::string log_field(const std::string& name) {
  if (name.find_first_of(",;\"\t\r\n#") == std::string::npos && !name.starts_with(' ') && !name.ends_with(' ')) return name;
  std::string quoted = "\"";
  for (const char c : name) quoted += c == '"' ? "\"\"" : std::string(1, c);
  return quoted + "\"";
}

fs::path whole_path(const fs::path& path) {
  std::error_code fault;
  const fs::path whole = fs::absolute(path, fault);
  return (fault ? path : whole).lexically_normal();
}

fs::path log_folder_of(const std::string& file) { return whole_path(file).parent_path(); }

/// Whether the output is a file, or becomes one. A pipe or a terminal has no folder of its own.
bool is_file(const std::string& output) {
  std::error_code fault;
  const fs::file_status status = fs::status(output, fault);
  return !fs::exists(status) || fs::is_regular_file(status);
}

}  // namespace

fs::path folder_of_rows(const std::vector<std::string>& captures, const std::optional<std::string>& output) {
  if (output && is_file(*output)) return log_folder_of(*output);
  const fs::path first = captures.empty() ? fs::path() : log_folder_of(captures.front());
  const bool together =
      std::all_of(captures.begin(), captures.end(), [&](const std::string& capture) { return log_folder_of(capture) == first; });
  return together ? first : log_folder_of("x");
}

std::string name_in_log(const std::string& capture, const fs::path& folder) {
  const fs::path relative = whole_path(capture).lexically_relative(folder);
  return relative.empty() ? capture : relative.string();
}

std::string setting_rows(const Reading& reading, const std::string& name, const std::vector<Band>& bands) {
  std::string rows;
  for (const SettingStretch& setting : settings_in(*reading.step.measurement(), bands)) {
    rows += fmt::format("{},,{:.2f},{:.2f}\n", log_field(name), setting.from_s, setting.to_s);
  }
  return rows;
}

}  // namespace evenwall::internal::app
