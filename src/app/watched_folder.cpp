// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/watched_folder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <system_error>
#include <vector>

#include "app/folder_captures.hpp"
#include "app/session_folders.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "storage/folder_names.hpp"

namespace evenwall::internal::app {
namespace {

void require_folder(const std::string& folder) {
  std::error_code fault;
  const fs::file_status status = fs::status(folder, fault);
  const std::string name = base::escaped(folder);
  if (!fs::exists(status))
    throw Error(ErrorKind::kInput, name + ": there is no such folder. Nothing is watched. Make one with evenwall new.");
  if (!fs::is_directory(status))
    throw Error(ErrorKind::kInput, name + ": this is not a folder. Nothing is watched. Name a session folder.");
  storage::names_in(folder, fault);
  if (fault) {
    throw Error(ErrorKind::kInput,
                name + ": the folder cannot be read: " + fault.message() + ". Nothing is watched. Check its permissions.");
  }
}

constexpr int kSearchedDepth = 2;  // a folder of clients, each with a folder of sessions

/// Refuses a folder of sessions, in which nothing would ever be followed.
void refuse_sessions_below(const std::string& folder) {
  std::error_code fault;
  const std::vector<std::string> names = storage::names_in(folder, fault);
  if (std::any_of(names.begin(), names.end(), is_followed)) return;
  std::vector<std::string> sessions;
  try {
    sessions = sessions_below(folder, kSearchedDepth);
  } catch (const Error&) {  // a folder in it that cannot be read does not matter here
  }
  if (sessions.empty()) return;
  throw Error(ErrorKind::kInput,
              fmt::format("{}: this is a folder of session folders, and one session folder is needed. Nothing is watched. "
                          "Name one of them, for example {}.",
                          base::escaped(folder), base::escaped(sessions.front())));
}

}  // namespace

bool is_followed(const std::string& name) { return name == kLogName || name == kFactsName || is_capture_name(name); }

void require_session_folder(const std::string& folder) {
  require_folder(folder);
  refuse_sessions_below(folder);
}

}  // namespace evenwall::internal::app
