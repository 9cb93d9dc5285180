// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/nearest_file.hpp"

#include <dirent.h>

#include <algorithm>
#include <memory>
#include <optional>
#include <vector>

#include "base/nearest.hpp"
#include "base/text.hpp"

namespace evenwall::internal::storage {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostFilesCompared = 10000;  // a suggestion is not worth more time

struct Closing {
  void operator()(DIR* folder) const { ::closedir(folder); }
};

/// Uses opendir, because a directory_iterator changes the flags of its descriptor, which the confined process may not do.
/// Sorted, so that the same folder always gives the same suggestion.
std::vector<std::string> names_in(const fs::path& folder) {
  std::vector<std::string> names;
  const std::unique_ptr<DIR, Closing> opened(::opendir(folder.c_str()));
  while (opened && names.size() < kMostFilesCompared) {
    const dirent* entry = ::readdir(opened.get());
    if (entry == nullptr) break;
    names.emplace_back(entry->d_name);
  }
  std::sort(names.begin(), names.end());
  return names;
}

/// A name that only lacks its ending is nearer than any other, however long the ending is.
std::optional<std::string> nearest_of(const std::string& wanted, const std::vector<std::string>& names) {
  const auto at = std::find_if(names.begin(), names.end(), [&](const std::string& name) { return fs::path(name).stem() == wanted; });
  return at == names.end() ? base::nearest_name(wanted, names) : *at;
}

}  // namespace

std::string nearest_file_sentence(const fs::path& path) {
  std::error_code fault;
  const fs::file_status status = fs::symlink_status(path, fault);
  if (status.type() != fs::file_type::not_found || !path.has_filename()) return "";
  const auto nearest = nearest_of(path.filename().string(), names_in(path.has_parent_path() ? path.parent_path() : fs::path(".")));
  return nearest ? " The nearest name in its folder is " + base::escaped(*nearest) + "." : "";
}

}  // namespace evenwall::internal::storage
