// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/named_capture.hpp"

#include <system_error>

#include "app/folder_captures.hpp"
#include "storage/folder_names.hpp"

namespace evenwall::internal::app {

const NamedCaptures::NamesByStem& NamedCaptures::recordings_in(const fs::path& folder) const {
  const std::lock_guard lock(guard_);
  const auto [at, is_new] = folders_.try_emplace(folder);
  if (!is_new) return at->second;
  std::error_code fault;  // a folder that cannot be read has no names, and the missing recording is reported
  for (const std::string& name : storage::names_in(folder, fault)) {
    if (is_capture_name(name)) at->second[fs::path(name).stem().string()].push_back(name);
  }
  return at->second;
}

std::string NamedCaptures::file_of(const std::string& capture) const {
  const fs::path path = folder_ / capture;
  std::error_code fault;
  if (!path.has_filename() || fs::symlink_status(path, fault).type() != fs::file_type::not_found) return capture;
  const NamesByStem& recordings = recordings_in(path.has_parent_path() ? path.parent_path() : fs::path("."));
  const auto at = recordings.find(path.filename().string());
  if (at == recordings.end() || at->second.size() != 1) return capture;
  return (fs::path(capture).parent_path() / at->second.front()).string();
}

}  // namespace evenwall::internal::app
