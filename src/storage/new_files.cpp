// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/new_files.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

#include "storage/descriptor.hpp"

namespace evenwall::internal::storage {

namespace fs = std::filesystem;

void refuse_to_replace(const fs::path& folder, const std::vector<std::string>& names) {
  for (const std::string& name : names) {
    std::error_code fault;
    if (fs::exists(fs::symlink_status(folder / name, fault))) {
      refuse(shown(folder), "the folder already holds a session (" + name + "). Nothing was written. Name another folder.");
    }
  }
}

NewFiles::NewFiles(fs::path folder) : folder_(std::move(folder)) { make(folder_); }

void NewFiles::add(const std::string& name, const std::string& text) {
  WholeFile file(folder_ / name);
  file.write(text);
  add(file, folder_ / name);
}

void NewFiles::add(WholeFile& file, const fs::path& path) {
  if (file.is_direct()) refuse(shown(path), "this is not a regular file. Name another folder.");
  made_.emplace_front(path.string()).holds(file.identity());
  if (!file.commit_as_new()) refuse(shown(path), "another program has made this file meanwhile. Name another folder.");
}

void NewFiles::keep() {
  for (Unfinished& made : made_) made.keep();
}

void NewFiles::make(const fs::path& folder) {
  std::error_code ignored;
  // The root is its own parent. A system that refuses to examine it would otherwise be asked without end.
  if (folder.empty() || folder == folder.parent_path() || fs::is_directory(folder, ignored)) return;
  make(folder.parent_path());
  made_.emplace_front(folder.string());
  const Making making;
  if (::mkdir(folder.c_str(), 0777) != 0) {
    const int error_number = errno;
    if (!fs::is_directory(folder, ignored)) refuse_folder(error_number);
    return;
  }
  struct stat status {};
  if (::lstat(folder.c_str(), &status) != 0) {
    const int error_number = errno;
    ::rmdir(folder.c_str());  // made a moment ago; a folder without an identity would not be removed later
    refuse_folder(error_number);
  }
  made_.front().holds(identity_of(status));
}

void NewFiles::refuse_folder(int error_number) const { refuse(shown(folder_), "the folder cannot be made: " + errno_text(error_number)); }

}  // namespace evenwall::internal::storage
