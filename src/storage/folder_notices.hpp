// SPDX-License-Identifier: GPL-3.0-or-later
// Receives the kernel's notices about the files of a folder (inotify). It is the only user of inotify.
#pragma once

#include <filesystem>
#include <memory>
#include <set>
#include <string>

#include "storage/descriptor.hpp"

namespace evenwall::internal::storage {

/// What the kernel has reported since the last call.
struct Notices {
  std::set<std::string> closed;  ///< names of files that were closed after writing, or renamed into the folder
  bool lost = false;             ///< there were more notices than the kernel keeps, so any file may have changed
  bool ended = false;            ///< the folder was removed, renamed or unmounted: no more notices will come
};

class FolderNotices {
 public:
  /// Begins to watch the folder. Returns nothing if the system grants no watch, or if the folder is on a network: changes that another
  /// machine makes there cause no notice. Throws: nothing but std::bad_alloc.
  static std::unique_ptr<FolderNotices> of(const std::filesystem::path& folder);

  /// Can be read (poll) if there are notices.
  [[nodiscard]] int descriptor() const { return inotify_.get(); }
  /// Takes all notices that have arrived. It never waits.
  [[nodiscard]] Notices take();

 private:
  explicit FolderNotices(Descriptor inotify) : inotify_(std::move(inotify)) {}
  Descriptor inotify_;
};

/// Whether a file system of this kind (statfs, f_type) may be changed by other machines without a notice.
bool is_shared_by_machines(unsigned long kind);

/// Begins to watch a folder before the process is confined, because a confined process may not. prepared_notices() returns the result to
/// the first caller, and nothing to others. Requires: no other thread runs.
void prepare_notices(const std::filesystem::path& folder);
std::unique_ptr<FolderNotices> prepared_notices();

}  // namespace evenwall::internal::storage
