// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/session_folders.hpp"

#include <algorithm>
#include <filesystem>

#include "app/folder_captures.hpp"
#include "storage/folder_listing.hpp"
#include "storage/folder_names.hpp"

namespace evenwall::internal::app {
namespace {

namespace fs = std::filesystem;
constexpr int kMostDepth = 8;
constexpr const char* kLog = "steps.csv";

bool holds_log(const fs::path& folder) {
  std::error_code fault;
  return fs::exists(folder / kLog, fault);
}

bool holds_recordings(const fs::path& folder) {
  std::error_code fault;
  const std::vector<std::string> names = storage::names_in(folder, fault);
  return std::any_of(names.begin(), names.end(), is_capture_name);
}

void add_sessions(const fs::path& folder, int depth_left, std::vector<std::string>& sessions) {
  std::vector<fs::path> folders;
  for (const std::string& name : storage::folder_names_in(folder)) folders.push_back(folder / name);
  std::sort(folders.begin(), folders.end());
  for (const fs::path& inner : folders) {
    if (holds_log(inner) || holds_recordings(inner)) {
      sessions.push_back(inner.string());
    } else if (depth_left > 1) {
      add_sessions(inner, depth_left - 1, sessions);
    }
  }
}

}  // namespace

std::vector<std::string> sessions_below(const std::string& folder, int depth) {
  std::vector<std::string> sessions;
  add_sessions(folder, depth, sessions);
  return sessions;
}

std::vector<std::string> with_sessions_of_folders(const std::vector<std::string>& inputs) {
  std::vector<std::string> all;
  for (const std::string& input : inputs) {
    std::error_code fault;
    std::vector<std::string> sessions;
    if (input != "-" && fs::is_directory(input, fault) && !holds_log(input)) add_sessions(input, kMostDepth, sessions);
    if (sessions.empty()) sessions.push_back(input);
    all.insert(all.end(), sessions.begin(), sessions.end());
  }
  return all;
}

}  // namespace evenwall::internal::app
