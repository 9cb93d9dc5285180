// SPDX-License-Identifier: GPL-3.0-or-later
// Lists a folder, also in a confined process.
#pragma once

#include <filesystem>
#include <string>
#include <system_error>
#include <vector>

namespace evenwall::internal::storage {

/// The names of all entries of a folder without "." and "..", in the order of the file system. `fault` is set if the folder cannot be read
/// to its end; the list then holds what was read. (std::filesystem::directory_iterator makes a call that a confined process may not make.)
std::vector<std::string> names_in(const std::filesystem::path& folder, std::error_code& fault);

}  // namespace evenwall::internal::storage
