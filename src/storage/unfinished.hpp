// SPDX-License-Identifier: GPL-3.0-or-later
// Registers files and folders that this process has made and not yet finished. If the process is ended, exactly these are removed.
#pragma once

#include <sys/stat.h>

#include <atomic>
#include <csignal>
#include <string>

namespace evenwall::internal::storage {

/// Identifies a file independently of its name.
struct FileIdentity {
  dev_t device = 0;
  ino_t inode = 0;
  bool operator==(const FileIdentity& other) const { return device == other.device && inode == other.inode; }
};

FileIdentity identity_of(const struct stat& status);

/// The name of a file or folder that this process has made. The destructor removes it, unless keep() was called. Another file that has
/// got the name since is never removed.
class Unfinished {
 public:
  /// Allocates all memory that is needed; does not mark the name for removal yet.
  explicit Unfinished(std::string path);
  Unfinished(const Unfinished&) = delete;
  Unfinished& operator=(const Unfinished&) = delete;
  ~Unfinished();

  [[nodiscard]] const std::string& path() const;
  /// From now on the name is removed if it still refers to this file.
  void holds(FileIdentity identity) noexcept;
  void keep() noexcept;

 private:
  struct Entry;
  friend void remove_unfinished();
  static std::atomic<Entry*> newest;
  Entry* entry_;
};

/// While an object exists, signals to this thread are delayed, and remove_unfinished() in another thread waits, so that a new name is
/// registered before either of them needs it. Keep its lifetime short.
class Making {
 public:
  Making();
  Making(const Making&) = delete;
  Making& operator=(const Making&) = delete;
  ~Making();

 private:
  sigset_t before_;
};

/// Removes all registered names, the newest first, and stops every thread that would make another one. The process must end now.
/// Allocates nothing and locks nothing, so that it also works when memory is exhausted, or in a signal handler.
void remove_unfinished();

}  // namespace evenwall::internal::storage
