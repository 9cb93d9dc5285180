// SPDX-License-Identifier: GPL-3.0-or-later
// Waits for changes of a folder and for lines that the user types.
#pragma once

#include "storage/folder_looks.hpp"

namespace evenwall::internal::app {

/// What has ended a wait.
struct Waited {
  storage::FolderChanges changes;
  bool input = false;        ///< the input can be read, or has ended
  bool reader_gone = false;  ///< the reader of the output has closed it
};

class FolderWatch {
 public:
  /// `output`: the descriptor whose reader is watched.
  FolderWatch(storage::FolderLooks looks, int output) : looks_(std::move(looks)), output_(output) {}

  /// Looks at the folder at once. Many changes in a short time are collected into one result.
  storage::FolderChanges look();
  /// Waits until the folder has changed, until `input` (a descriptor; -1: none) can be read, or until the output has no reader.
  Waited wait(int input);
  [[nodiscard]] storage::FolderLooks& looks() { return looks_; }

 private:
  using Clock = storage::FolderLooks::Clock;
  void collect();

  storage::FolderLooks looks_;
  int output_;
  Clock::time_point due_{};  ///< of the next look, if no notice comes
};

}  // namespace evenwall::internal::app
