// SPDX-License-Identifier: GPL-3.0-or-later
// Describes the state of a file, to detect that it has changed.
#pragma once

#include <sys/stat.h>

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "storage/unfinished.hpp"

namespace evenwall::internal::storage {

/// The state of a regular file. A file that was written, or replaced by another one, has another stamp. A program that restores size and
/// time of a file that it has changed is not noticed.
struct FileStamp {
  FileIdentity identity;
  std::int64_t size_bytes = 0;
  std::int64_t modified_ns = 0;  ///< since 1970
  bool operator==(const FileStamp& other) const = default;
};

/// The stamp of the regular file at a path; links are followed. Nothing if there is no regular file, or if it cannot be examined.
std::optional<FileStamp> stamp_of(const std::filesystem::path& path);
FileStamp stamp_of(const struct stat& status);

/// The stamp as one line of text without blanks at its ends, and the text read back. Nothing is returned for any other text.
std::string stamp_text(const FileStamp& stamp);
std::optional<FileStamp> stamp_from(std::string_view text);

/// The names of files in a folder in the order in which they were last written, oldest first. Names of equal time keep their order. Names
/// without a stamp come last.
std::vector<std::string> oldest_first(const std::filesystem::path& folder, const std::vector<std::string>& names);

}  // namespace evenwall::internal::storage
