// SPDX-License-Identifier: GPL-3.0-or-later
// Suggests the file that a user most likely meant.
#pragma once

#include <filesystem>
#include <string>

namespace evenwall::internal::storage {

/// For a path at which nothing is: " The nearest name in its folder is Upright.wav.", to be put after a message. Empty if something is at
/// the path, if no name in its folder is near, or if the folder cannot be read. Reads at most 10,000 names.
std::string nearest_file_sentence(const std::filesystem::path& path);

}  // namespace evenwall::internal::storage
