// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the lines that a user types, without waiting for them.
#pragma once

#include <optional>
#include <string>

namespace evenwall::internal::app {

class TypedLines {
 public:
  explicit TypedLines(int descriptor) : descriptor_(descriptor) {}

  /// Discards what was typed before a question was asked, because it cannot be the answer.
  void discard();
  /// Reads what has arrived. Returns the next whole line without its line end; nothing if there is none yet.
  std::optional<std::string> read();
  /// Whether the input has ended, or cannot be read. No more lines will come.
  [[nodiscard]] bool has_ended() const { return ended_; }

 private:
  std::optional<std::string> take_line();

  int descriptor_;
  std::string typed_;
  bool ended_ = false;
};

}  // namespace evenwall::internal::app
