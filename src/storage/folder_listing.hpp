// SPDX-License-Identifier: GPL-3.0-or-later
// Lists the files and folders of a folder.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace evenwall::internal::storage {

/// Names of the regular files in a folder, in no particular order; links count as what they lead to. A confined process can list a folder
/// in this way. std::filesystem cannot: it changes a flag of the descriptor, which the confinement does not allow.
/// Throws: Error(kInput) if the folder cannot be listed.
std::vector<std::string> file_names_in(const std::filesystem::path& folder);

/// Names of the folders in a folder, in no particular order, without links. Empty if the folder cannot be listed.
std::vector<std::string> folder_names_in(const std::filesystem::path& folder);

}  // namespace evenwall::internal::storage
