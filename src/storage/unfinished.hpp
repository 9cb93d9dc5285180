// SPDX-License-Identifier: GPL-3.0-or-later
// Files and folders that this process has made and not yet finished. If the process is ended, exactly these are removed.
#pragma once

#include <sys/stat.h>

#include <atomic>
#include <csignal>
#include <string>

namespace evenwall::internal::storage {

/// Which file it is, under whatever name.
struct FileIdentity {
  dev_t device = 0;
  ino_t inode = 0;
  bool operator==(const FileIdentity& other) const { return device == other.device && inode == other.inode; }
};

FileIdentity identity_of(const struct stat& status);

/// A name that this process gave to a file or folder of its own making. The destructor removes it, unless keep() was called. A file that
/// has taken the name since is never removed.
class Unfinished {
 public:
  /// Allocates all that is needed; registers nothing yet.
  explicit Unfinished(std::string path);
  Unfinished(const Unfinished&) = delete;
  Unfinished& operator=(const Unfinished&) = delete;
  ~Unfinished();

  [[nodiscard]] const std::string& path() const;
  /// From now on the name is removed if it still is this file.
  void holds(FileIdentity identity) noexcept;
  void keep() noexcept;

 private:
  struct Entry;
  friend void remove_unfinished();
  static std::atomic<Entry*> newest;
  Entry* entry_;
};

/// While one exists, signals to this thread wait, and so does remove_unfinished() in another one: a name that is made is registered before
/// either looks. Keep it short.
class Making {
 public:
  Making();
  Making(const Making&) = delete;
  Making& operator=(const Making&) = delete;
  ~Making();

 private:
  sigset_t before_;
};

/// Removes what is registered, the newest first, and lets no thread make anything after it. The process must end now.
/// Allocates nothing and locks nothing: it also runs when memory is exhausted, or in a signal handler.
void remove_unfinished();

}  // namespace evenwall::internal::storage
