// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/watched_log.hpp"

#include <variant>

#include "app/named_capture.hpp"
#include "app/options.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "sandbox/writer_process.hpp"
#include "storage/descriptor.hpp"
#include "tables/step_log.hpp"

namespace evenwall::internal::app {
WatchedLog::WatchedLog(const fs::path& folder) : folder_(folder), path_(folder / "steps.csv"), stamp_(storage::stamp_of(path_)) {
  try {
    read();
  } catch (const Error&) {  // session_from() reports the reason
  }
}

void WatchedLog::read() {
  std::error_code fault;
  if (stamp_) {
    text_ = read_text(path_, kMostText_bytes);
  } else if (fs::exists(fs::symlink_status(path_, fault))) {
    return;  // a folder, a pipe, or a link without a target
  }
  columns_ = tables::answer_columns_of(text_, storage::shown(path_));
  readable_ = true;
  if (!stamp_) return;
  is_new_ = tables::is_without_rows(text_, storage::shown(path_));
  if (is_new_) return;
  const tables::LoggedSteps logged(path_);
  const NamedCaptures names(folder_);
  for (std::size_t i = 0; i < logged.size(); ++i) {
    const std::variant<LogEntry, BadRow> row = logged.row(i);
    LogEntry entry;
    if (const auto* good = std::get_if<LogEntry>(&row)) {
      entry = *good;
    } else {
      entry.capture = std::get<BadRow>(row).capture;
    }
    rows_[(folder_ / names.file_of(entry.capture)).lexically_normal()].push_back(entry);
  }
}

std::vector<LogEntry> WatchedLog::rows_of(const std::string& name) const {
  const auto at = rows_.find((folder_ / name).lexically_normal());
  return at == rows_.end() ? std::vector<LogEntry>() : at->second;
}

bool WatchedLog::add_row(const std::string& name, const tables::TypedAnswer& answer) const {
  return sandbox::grow_log(path_.string(), stamp_, tables::added_row(text_, storage::shown(path_), name, answer));
}

}  // namespace evenwall::internal::app
