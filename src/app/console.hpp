// SPDX-License-Identifier: GPL-3.0-or-later
// Writes to standard output and standard error.
#pragma once

#include <set>
#include <string>
#include <string_view>

#include "evenwall/model/warning.hpp"

namespace evenwall::internal::app {

enum class Chatter { kNormal, kQuiet };

class Console {
 public:
  explicit Console(Chatter chatter);
  ~Console();
  Console(const Console&) = delete;
  Console& operator=(const Console&) = delete;

  /// Writes to standard output. If the reader has closed it, later output is dropped without a message. Throws: Error(kInput) if it cannot
  /// be written.
  void out(std::string_view text);
  /// Writes one line to standard error, "evenwall: …". The same line is written only once.
  void complain(std::string_view message);
  /// Writes a text of several lines to standard error unchanged. Used for texts that the user requested with a flag.
  void aside(std::string_view text);
  /// Writes a line as complain() does, unless --quiet is given.
  void warn(std::string_view message);
  /// Shows progress, only if standard error is a terminal. The next output overwrites it.
  void progress(std::string_view state);
  /// Rings the bell of the terminal to which standard error goes. Elsewhere it does nothing.
  void bell();
  /// Whether the reader of standard output has closed it.
  [[nodiscard]] bool reader_gone() const { return reader_gone_; }
  /// Whether standard output is a terminal with colours (NO_COLOR is honoured).
  [[nodiscard]] bool colour() const { return colour_; }

 private:
  void clear_progress();

  Chatter chatter_;
  bool colour_;
  bool has_terminal_;  // standard error is one
  bool shows_progress_;
  bool reader_gone_ = false;
  bool progress_shown_ = false;
  std::set<std::string> told_;
};

/// The message for a run that a warning fails under --strict. `in_front` comes before it, `done` states more that the program did.
std::string strict_failure(const std::string& in_front, const Warning& warning, const std::string& done = "");

}  // namespace evenwall::internal::app
