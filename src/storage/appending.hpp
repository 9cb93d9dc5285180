// SPDX-License-Identifier: GPL-3.0-or-later
// Adds a line to a text file, so that neither a crash nor another program can damage what the file holds.
#pragma once

#include <sys/stat.h>

#include <filesystem>
#include <functional>
#include <string>
#include <string_view>

namespace evenwall::internal::storage {

enum class Repeats { kAdded, kNotAdded };

/// Examines what a file holds before a line is added to it. Throws: Error(kInput) if the line must not be added.
using ContentCheck = std::function<void(int descriptor, const std::string& name)>;

/// Adds the line under a lock and syncs it. A torn last line is completed with a line end first. `check` runs while the file is locked.
/// Returns false, with nothing added, if the file has the line already and repeats are not added.
/// Requires: no line end in `line`. Throws: Error(kInput); the file is then as it was, or the message states what was added.
bool append(const std::filesystem::path& path, std::string_view line, Repeats repeats, const ContentCheck& check);

/// Refuses an existing file that lines cannot be added to. Throws: Error(kInput).
void check_appendable(const std::filesystem::path& path, const struct stat& status, const std::string& name, const ContentCheck& check);

}  // namespace evenwall::internal::storage
