// SPDX-License-Identifier: GPL-3.0-or-later
// Asks on the terminal for the tilts of recordings that have no row in the log, and adds the rows.
#pragma once

#include <filesystem>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "app/console.hpp"
#include "app/typed_lines.hpp"
#include "tables/log_row.hpp"

namespace evenwall::internal::app {

class TiltQuestions {
 public:
  /// `asks`: whether questions are asked at all. `input`: the descriptor with the answers.
  TiltQuestions(Console& console, bool asks, int input);
  TiltQuestions(Console& console, bool asks);

  /// The descriptor to wait for; -1 if no question is open.
  [[nodiscard]] int descriptor() const { return open_ ? input_ : -1; }
  /// Call it before other text is written: an open question is asked again by the next call of ask().
  void interrupt();
  /// Asks for the first of the recordings whose tilt is not known, in the order in which the questions are to be asked. `columns`: of the
  /// log; without one for tilts, nothing is asked.
  void ask(const std::vector<std::string>& missing, const tables::AnswerColumns& columns);
  /// Takes what was typed. Returns the name of a recording for which a row was added to the log of the folder. A text that is not a tilt,
  /// with or without a use, is reported, and the question is repeated. A blank line skips the recording. If the input has ended, no more
  /// questions are asked.
  std::optional<std::string> answer(const std::filesystem::path& folder);

 private:
  void put();
  void next();
  bool adds_row(const std::filesystem::path& folder, const std::string& name, const std::string& typed);

  Console& console_;
  int input_;
  bool asks_;
  TypedLines lines_;
  std::vector<std::string> missing_;
  std::set<std::string> skipped_;
  tables::AnswerColumns columns_;
  std::optional<std::string> open_;  // the recording of the open question
  bool shown_ = false;               // the question is the last text on the terminal
};

}  // namespace evenwall::internal::app
