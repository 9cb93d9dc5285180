// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/folder_listing.hpp"

#include <dirent.h>

#include <cerrno>
#include <memory>
#include <system_error>

#include "storage/descriptor.hpp"

namespace evenwall::internal::storage {

namespace {

struct FolderCloser {
  void operator()(DIR* open) const { ::closedir(open); }
};
using OpenFolder = std::unique_ptr<DIR, FolderCloser>;

OpenFolder opened(const std::filesystem::path& folder) { return OpenFolder(::opendir(folder.empty() ? "." : folder.c_str())); }

/// The names for which `wanted` holds. Stops at a fault, which errno then states; otherwise errno is 0.
template <class Wanted>
std::vector<std::string> names_in(DIR* open, const Wanted& wanted) {
  std::vector<std::string> names;
  for (;;) {
    errno = 0;
    const dirent* const entry = ::readdir(open);
    if (entry == nullptr) return names;
    if (const std::string name = entry->d_name; wanted(name)) names.push_back(name);
  }
}

}  // namespace

std::vector<std::string> file_names_in(const std::filesystem::path& folder) {
  const auto refuse_listing = [&] {
    refuse(shown(folder), "the folder cannot be listed: " + std::generic_category().message(errno) + ". Check its permissions.");
  };
  const OpenFolder open = opened(folder);
  if (open == nullptr) refuse_listing();
  std::error_code fault;
  auto names = names_in(open.get(), [&](const std::string& name) { return std::filesystem::is_regular_file(folder / name, fault); });
  if (errno != 0) refuse_listing();
  return names;
}

std::vector<std::string> folder_names_in(const std::filesystem::path& folder) {
  const OpenFolder open = opened(folder);
  if (open == nullptr) return {};
  std::error_code fault;
  const auto is_folder = [&](const std::string& name) {
    return name != "." && name != ".." &&
           std::filesystem::symlink_status(folder / name, fault).type() == std::filesystem::file_type::directory;
  };
  return names_in(open.get(), is_folder);
}

}  // namespace evenwall::internal::storage
