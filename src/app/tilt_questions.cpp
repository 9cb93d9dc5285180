// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/tilt_questions.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>

#include "app/watched_log.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/words.hpp"

namespace evenwall::internal::app {
namespace {

constexpr int kMostTries = 5;  // if another program saves the log again and again

/// The tilt of a row, as a part of a sentence.
std::string tilt_words(const LogEntry& row) {
  if (row.tilt_deg) return fmt::format(", with the tilt {:g}°", *row.tilt_deg);
  return row.tilt_units ? fmt::format(", with the tilt {:g}", *row.tilt_units) : "";
}

}  // namespace

TiltQuestions::TiltQuestions(Console& console, bool asks, int input) : console_(console), input_(input), asks_(asks), lines_(input) {}

TiltQuestions::TiltQuestions(Console& console, bool asks) : TiltQuestions(console, asks, STDIN_FILENO) {}

void TiltQuestions::interrupt() {
  if (open_ && shown_) console_.out("\n");
  shown_ = false;
}

void TiltQuestions::ask(const std::vector<std::string>& missing, const tables::AnswerColumns& columns) {
  missing_ = missing;
  columns_ = columns;
  const auto is_missing = [&](const std::string& capture) { return std::find(missing.begin(), missing.end(), capture) != missing.end(); };
  std::erase_if(skipped_, [&](const std::string& capture) { return !is_missing(capture); });
  if (open_ && (!columns.tilt || !is_missing(*open_))) open_.reset();
  if (open_) return put();
  next();
}

void TiltQuestions::next() {
  open_.reset();
  if (!asks_ || !columns_.tilt || lines_.has_ended()) return;
  const auto at = std::find_if(missing_.begin(), missing_.end(), [this](const std::string& name) { return !skipped_.contains(name); });
  if (at == missing_.end()) return;
  lines_.discard();
  if (lines_.has_ended()) return;
  open_ = *at;
  put();
}

void TiltQuestions::put() {
  const std::string what =
      columns_.tilt == "tilt_units" ? "in the units of the log" : "in degrees (azimuth seen from the front, clockwise positive)";
  const std::string use =
      columns_.use ? fmt::format("The use may follow the number ({}), as in 1.5 verify.\n", enum_list<StepUse>(", ", " or ")) : "";
  console_.out(fmt::format("{}: type its tilt {}.\n{}Press Enter alone to add no row: ", base::escaped(*open_), what, use));
  shown_ = true;
}

std::optional<std::string> TiltQuestions::answer(const std::filesystem::path& folder) {
  while (open_) {
    const auto line = lines_.read();
    if (!line && !lines_.has_ended()) return std::nullopt;
    shown_ = false;
    const std::string name = *open_;
    if (!line) {
      console_.out("\n");
      open_.reset();
    } else if (line->find_first_not_of(" \t\r") == std::string::npos) {
      skipped_.insert(name);
      next();
    } else if (adds_row(folder, name, *line)) {
      open_.reset();
      return name;
    } else {
      put();
    }
  }
  return std::nullopt;
}

/// Returns whether the log has a row for the recording now. Otherwise the reason was shown.
bool TiltQuestions::adds_row(const std::filesystem::path& folder, const std::string& name, const std::string& typed) {
  try {
    const tables::TypedAnswer answer = tables::typed_answer(typed, columns_);
    for (int tries = 0; tries < kMostTries; ++tries) {
      const WatchedLog log(folder);
      if (!log.is_readable() || log.columns() != columns_) break;
      if (const auto rows = log.rows_of(name); !rows.empty()) {
        console_.out(
            fmt::format("{}: steps.csv already has a row for it{}. What you typed was not written. Correct the row if it is wrong.\n",
                        base::escaped(name), tilt_words(rows.front())));
        return true;
      }
      if (log.add_row(name, answer)) return true;
    }
    console_.out("steps.csv has changed meanwhile. No row was written. Type the tilt again.\n");
  } catch (const Error& error) {
    if (error.kind() == ErrorKind::kInternal) throw;
    console_.out(std::string(error.what()) + "\n");
  }
  return false;
}

}  // namespace evenwall::internal::app
