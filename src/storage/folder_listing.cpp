// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/folder_listing.hpp"

#include "storage/descriptor.hpp"
#include "storage/folder_names.hpp"

namespace evenwall::internal::storage {
namespace fs = std::filesystem;

std::vector<std::string> file_names_in(const fs::path& folder) {
  std::error_code fault;
  std::vector<std::string> names = names_in(folder, fault);
  if (fault) refuse(shown(folder), "the folder cannot be listed: " + fault.message() + ". Check its permissions.");
  std::erase_if(names, [&](const std::string& name) { return !fs::is_regular_file(folder / name, fault); });
  return names;
}

std::vector<std::string> folder_names_in(const fs::path& folder) {
  std::error_code fault;
  std::vector<std::string> names = names_in(folder, fault);
  std::erase_if(names, [&](const std::string& name) { return !fs::is_directory(fs::symlink_status(folder / name, fault)); });
  return names;
}

}  // namespace evenwall::internal::storage
