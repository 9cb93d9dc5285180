// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/folder_listing.hpp"

#include <dirent.h>

#include <cerrno>
#include <memory>
#include <system_error>

#include "storage/descriptor.hpp"

namespace evenwall::internal::storage {

std::vector<std::string> file_names_in(const std::filesystem::path& folder) {
  const auto refuse_listing = [&] {
    refuse(shown(folder), "the folder cannot be listed: " + std::generic_category().message(errno) + ". Check its permissions.");
  };
  struct Closing {
    void operator()(DIR* open) const { ::closedir(open); }
  };
  const std::unique_ptr<DIR, Closing> open(::opendir(folder.empty() ? "." : folder.c_str()));
  if (open == nullptr) refuse_listing();
  std::vector<std::string> names;
  for (;;) {
    errno = 0;
    const dirent* const entry = ::readdir(open.get());
    if (entry == nullptr) break;
    std::error_code fault;
    if (std::filesystem::is_regular_file(folder / entry->d_name, fault)) names.emplace_back(entry->d_name);
  }
  if (errno != 0) refuse_listing();
  return names;
}

}  // namespace evenwall::internal::storage
