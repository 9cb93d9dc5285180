// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/folder_names.hpp"

#include <dirent.h>

#include <cerrno>
#include <memory>
#include <string_view>

namespace evenwall::internal::storage {

std::vector<std::string> names_in(const std::filesystem::path& folder, std::error_code& fault) {
  fault.clear();
  std::vector<std::string> names;
  struct Closing {
    void operator()(DIR* open) const { ::closedir(open); }
  };
  const std::unique_ptr<DIR, Closing> open(::opendir(folder.empty() ? "." : folder.c_str()));
  if (!open) {
    fault = std::error_code(errno, std::generic_category());
    return names;
  }
  for (;;) {
    errno = 0;
    const dirent* entry = ::readdir(open.get());
    if (entry == nullptr) break;
    const std::string_view name = static_cast<const char*>(entry->d_name);
    if (name != "." && name != "..") names.emplace_back(name);
  }
  if (errno != 0) fault = std::error_code(errno, std::generic_category());
  return names;
}

}  // namespace evenwall::internal::storage
