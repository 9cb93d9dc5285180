// SPDX-License-Identifier: GPL-3.0-or-later
// Makes a folder with several files, all of them or none.
#pragma once

#include <filesystem>
#include <list>
#include <string>
#include <vector>

#include "storage/unfinished.hpp"
#include "storage/whole_file.hpp"

namespace evenwall::internal::storage {

/// Throws: Error(kInput) if the folder has an entry with one of the names, also a link whose target does not exist.
void refuse_to_replace(const std::filesystem::path& folder, const std::vector<std::string>& names);

/// The files that this run has put into a folder, and the folders that it made for that. All are removed again unless keep() is called.
class NewFiles {
 public:
  /// Makes the folder and its parents, if they are missing. Throws: Error(kInput).
  explicit NewFiles(std::filesystem::path folder);
  NewFiles(const NewFiles&) = delete;
  NewFiles& operator=(const NewFiles&) = delete;
  ~NewFiles() = default;

  /// Puts a file into the folder, whole. Throws: Error(kInput), also if a file has the name already.
  void add(const std::string& name, const std::string& text);
  /// Puts a file in its place that the caller has written. Throws: as above.
  void add(WholeFile& file, const std::filesystem::path& path);
  void keep();

 private:
  void make(const std::filesystem::path& folder);
  [[noreturn]] void refuse_folder(int error_number) const;

  std::filesystem::path folder_;
  std::list<Unfinished> made_;  // the newest first and removed in this order: files before their folders
};

}  // namespace evenwall::internal::storage
