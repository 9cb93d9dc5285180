// SPDX-License-Identifier: GPL-3.0-or-later
// Standard output and standard error.
#pragma once

#include <set>
#include <string>
#include <string_view>

namespace evenwall::internal::app {

enum class Chatter { kNormal, kQuiet };

class Console {
 public:
  explicit Console(Chatter chatter);
  ~Console();
  Console(const Console&) = delete;
  Console& operator=(const Console&) = delete;

  /// To standard output. A reader that has gone away ends output quietly. Throws: Error(kInput) where it can't be written.
  void out(std::string_view text);
  /// One line on standard error, "evenwall: …"; the same line only once.
  void complain(std::string_view message);
  /// Text of several lines on standard error, as it is: what was asked for with a flag of its own.
  void aside(std::string_view text);
  /// A complaint that --quiet silences.
  void warn(std::string_view message);
  /// Shown only where standard error is a terminal, and overwritten by what follows.
  void progress(std::string_view state);
  /// Whether standard output is a terminal that wants colours (NO_COLOR is honoured).
  [[nodiscard]] bool colour() const { return colour_; }

 private:
  void clear_progress();

  Chatter chatter_;
  bool colour_;
  bool shows_progress_;
  bool reader_gone_ = false;
  bool progress_shown_ = false;
  std::set<std::string> told_;
};

}  // namespace evenwall::internal::app
