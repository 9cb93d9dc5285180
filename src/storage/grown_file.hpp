// SPDX-License-Identifier: GPL-3.0-or-later
// Adds text to the end of a file that other programs edit, such as a step log.
#pragma once

#include <filesystem>
#include <optional>
#include <string_view>

#include "storage/file_stamp.hpp"

namespace evenwall::internal::storage {

/// Puts a new file in the file's place that has all its bytes and then `added`. The new file appears whole or not at all. `seen`: the state
/// of the file in which the caller has read it; nothing if there was no file.
///
/// Returns false, with nothing done, if the file is in another state by now, because another program has saved it. Mode and group are kept,
/// and links are followed. Throws: Error(kInput) if the file cannot be read or written; the old file is then intact.
[[nodiscard]] bool grow(const std::filesystem::path& path, const std::optional<FileStamp>& seen, std::string_view added);

}  // namespace evenwall::internal::storage
