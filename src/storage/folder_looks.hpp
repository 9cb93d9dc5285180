// SPDX-License-Identifier: GPL-3.0-or-later
// Determines which files of a folder are new, changed or gone, and which of them are finished. It works with the kernel's notices, and
// also without them, by looking at the folder at intervals (polling).
#pragma once

#include <chrono>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "storage/file_stamp.hpp"
#include "storage/folder_notices.hpp"

namespace evenwall::internal::storage {

/// What a look has found. The names of each list are sorted.
struct FolderChanges {
  std::vector<std::string> finished;  ///< new or changed files that are finished; each state of a file is listed once
  std::vector<std::string> gone;      ///< files that were finished and exist no more
  bool left = false;                  ///< the folder itself was there and cannot be read any more
  bool back = false;                  ///< the folder can be read again
  [[nodiscard]] bool any() const { return !finished.empty() || !gone.empty() || left || back; }
};

/// A file is finished if a program has closed it after writing or renamed it into the folder, and it is whole. Without notices it is
/// finished if it is whole and has not changed for kSettled. A file that is not whole, or that no program was seen to close, is waited for
/// until it has not changed for kGivenUp: its program may have crashed. A file that the first look finds, and that does not change, is
/// waited for until it is kGivenUpAtFirst old, because it is unlikely that a program writes it.
class FolderLooks {
 public:
  using Clock = std::chrono::steady_clock;
  static constexpr std::chrono::milliseconds kSettled{1000};
  static constexpr std::chrono::milliseconds kGivenUp{10'000};
  static constexpr std::chrono::milliseconds kGivenUpAtFirst{3'000};

  struct Rules {
    std::function<bool(const std::string& name)> followed;            ///< whether the file matters
    std::function<bool(const std::filesystem::path& path)> is_whole;  ///< whether the file looks complete; called for files at rest
  };

  /// `notices`: those of this folder, or null. Requires: the notices began before the first look.
  FolderLooks(std::filesystem::path folder, Rules rules, std::unique_ptr<FolderNotices> notices);

  /// Looks at the folder. `now` never decreases from call to call. Throws: nothing but std::bad_alloc and what the rules throw.
  FolderChanges look(Clock::time_point now);
  /// Takes the notices that have arrived; the next look uses them.
  void gather();
  /// Can be read (poll) if there are notices; -1 if there are no notices to come.
  [[nodiscard]] int descriptor() const { return notices_ ? notices_->descriptor() : -1; }
  /// The longest time until the next look, if no notice comes.
  [[nodiscard]] std::chrono::milliseconds pause() const;
  /// Whether the file was seen and is not finished.
  [[nodiscard]] bool is_awaited(const std::string& name) const;
  /// Whether a look has seen the file.
  [[nodiscard]] bool is_known(const std::string& name) const { return files_.contains(name); }
  /// The state of a finished file that is known to the caller already, because the caller has written it. The next look does not list it.
  void accept(const std::string& name);

 private:
  struct Seen {
    FileStamp stamp;
    Clock::time_point since;  ///< when this stamp was seen first; for the first look, when the file was written
    bool found = false;       ///< the first look has found it in this state
    bool closed = false;
    bool unsure = false;  ///< its program may have closed it unnoticed
    bool finished = false;
    bool listed = false;  ///< this file, in any state, was finished before
    bool there = true;
  };

  [[nodiscard]] bool folder_is_there();
  void see(const std::string& name, const FileStamp& stamp, Clock::time_point now);
  [[nodiscard]] bool is_finished(const std::string& name, const Seen& seen, Clock::time_point now) const;

  std::filesystem::path folder_;
  Rules rules_;
  std::unique_ptr<FolderNotices> notices_;
  Notices gathered_;
  FileIdentity identity_;  ///< of the folder
  std::map<std::string, Seen> files_;
  std::chrono::milliseconds cost_{0};  ///< of the last look
  bool was_there_ = true;
  bool is_first_ = true;  ///< the next look is the first one since the folder is there
};

}  // namespace evenwall::internal::storage
