// SPDX-License-Identifier: GPL-3.0-or-later
// The files of a session folder that `watch` follows, and the folders that it refuses.
#pragma once

#include <string>

namespace evenwall::internal::app {

inline constexpr const char* kLogName = "steps.csv";
inline constexpr const char* kFactsName = "session.json";

/// Whether a file in a session folder changes its answer: the log, the facts, or a recording.
bool is_followed(const std::string& name);

/// Throws: Error(kInput) if there is no such folder, if it cannot be read, or if it is a folder of session folders, in which nothing would
/// ever be followed.
void require_session_folder(const std::string& folder);

}  // namespace evenwall::internal::app
