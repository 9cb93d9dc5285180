// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/named_capture.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <system_error>

#include "app/folder_captures.hpp"
#include "base/text.hpp"
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

const std::vector<std::string>& NamedCaptures::recordings_named(const std::string& capture) const {
  static const std::vector<std::string> kNone;
  const fs::path path = folder_ / capture;
  std::error_code fault;
  if (!path.has_filename() || fs::symlink_status(path, fault).type() != fs::file_type::not_found) return kNone;
  const NamesByStem& recordings = recordings_in(path.has_parent_path() ? path.parent_path() : fs::path("."));
  const auto at = recordings.find(path.filename().string());
  return at == recordings.end() ? kNone : at->second;
}

std::string NamedCaptures::file_of(const std::string& capture) const {
  const std::vector<std::string>& named = recordings_named(capture);
  return named.size() == 1 ? (fs::path(capture).parent_path() / named.front()).string() : capture;
}

std::string NamedCaptures::several_sentence(const std::string& capture) const {
  std::vector<std::string> named = recordings_named(capture);
  if (named.size() < 2) return "";
  std::sort(named.begin(), named.end());
  std::string list;
  for (std::size_t i = 0; i < named.size(); ++i) list += (i == 0 ? "" : i + 1 < named.size() ? ", " : " and ") + base::escaped(named[i]);
  return fmt::format(" {} have this name. Write the ending in the log.", list);
}

}  // namespace evenwall::internal::app
