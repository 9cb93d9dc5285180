// SPDX-License-Identifier: GPL-3.0-or-later
// Watches a session folder: measures each recording when it is finished, reads a saved log again, and shows the answer after each change.
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "app/calibration_input.hpp"
#include "app/commands.hpp"
#include "app/console.hpp"
#include "app/folder_captures.hpp"
#include "app/folder_watch.hpp"
#include "app/in_order.hpp"
#include "app/measured_line.hpp"
#include "app/measured_once.hpp"
#include "app/permissions.hpp"
#include "app/progress.hpp"
#include "app/session_input.hpp"
#include "app/tilt_questions.hpp"
#include "app/watched_folder.hpp"
#include "app/watched_log.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "evenwall/report.hpp"
#include "evenwall/solve.hpp"
#include "evenwall/words.hpp"
#include "storage/file_stamp.hpp"
#include "storage/folder_names.hpp"

namespace evenwall::internal::app {
namespace {

/// Whether a file at rest is complete. The header of a recording becomes final when its program closes it.
bool is_whole(const fs::path& path) {
  if (!is_capture_name(path.filename().native())) return true;
  try {
    const Warnings warnings = open_capture(path).warnings;
    return std::none_of(warnings.begin(), warnings.end(),
                        [](const Warning& w) { return w.code == WarningCode::kHeaderNotFinal || w.code == WarningCode::kTruncated; });
  } catch (const Error&) {
    return false;
  }
}

/// The answer without the facts of the session: the bell is not for a text of session.json.
std::string results_of(Solution solution) {
  solution.session = {};
  return to_json(solution);
}

class WatchRun {
 public:
  explicit WatchRun(const WatchCommand& command)
      : command_(command),
        console_(command.common.quiet ? Chatter::kQuiet : Chatter::kNormal),
        folder_(command.folder),
        watch_({folder_, {is_followed, is_whole}, storage::prepared_notices()}, STDOUT_FILENO),
        measured_([this](const fs::path& path) { return is_awaited(path); }, measured),
        questions_(console_, asks_for_tilts(command)) {}

  int run() {
    for (const char* file : {kLogName, kFactsName}) stamps_[file] = storage::stamp_of(folder_ / file);
    note(name() + ": the program watches this folder. " + waiting_words() + "Press Ctrl-C to end.");
    storage::FolderChanges changes = watch_.look();
    for (;; is_first_ = false) {
      if (is_first_ || changes.any()) take(changes);
      if (strictly_bad_) return kExitNoAnswer;
      if (console_.reader_gone()) return kExitAnswered;
      Waited waited = watch_.wait(questions_.descriptor());
      if (waited.reader_gone) return kExitAnswered;
      changes = std::move(waited.changes);
      if (waited.input && answer()) add(changes.finished, kLogName);
    }
  }

 private:
  [[nodiscard]] std::string name() const { return base::escaped(command_.folder); }

  /// What the program waits for, if the folder has nothing to solve yet.
  [[nodiscard]] std::string waiting_words() const {
    std::error_code fault;
    const std::vector<std::string> names = storage::names_in(folder_, fault);
    const WatchedLog log(folder_);
    if (std::any_of(names.begin(), names.end(), is_capture_name) || (log.exists() && !log.is_new())) return "";
    return "It holds no recording yet. The program waits for the first one. ";
  }

  /// Writes a line to standard error, also if the same line was written before.
  void note(const std::string& line) {
    if (!command_.common.quiet) console_.aside("evenwall: " + line + "\n");
  }

  /// Writes a line about a recording beside the answers. Standard output with --json holds documents only.
  void show_line(const std::string& line) {
    if (command_.common.json) return note(line);
    console_.out(line + "\n");
  }

  static void add(std::vector<std::string>& names, const std::string& name) {
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  }

  /// Called by several threads while no thread looks at the folder.
  bool is_awaited(const fs::path& path) {
    const bool is_here = path.lexically_normal().parent_path() == (folder_ / "x").lexically_normal().parent_path();
    const std::string name = path.filename().native();
    // A recording that came after the last look is not finished either. The next look lists it, and then its line is shown.
    return is_here && (watch_.looks().is_awaited(name) || (is_capture_name(name) && !watch_.looks().is_known(name)));
  }

  void take(const storage::FolderChanges& changes) {
    if (changes.left) {
      present_.clear();
      return note(name() + ": the folder cannot be read any more. The program waits for it. Mount or restore it, or press Ctrl-C.");
    }
    if (changes.back) note(name() + ": the folder can be read again.");
    questions_.interrupt();
    const WatchedLog log(folder_);
    for (const std::string& gone : changes.gone) forget(gone);
    for (const std::string& finished : changes.finished) {
      if (is_capture_name(finished)) present_.insert(finished);
      if (finished == kLogName || finished == kFactsName) tell_of_text(finished);
    }
    measure(changes.finished, log);
    // A log without rows is not a fault: the user adds its rows, or answers the questions below.
    if (log.exists() ? !log.is_new() : !present_.empty()) solve();
    name_missing(log);
  }

  /// A file that was there at the start may be found finished later, and is then not new.
  void tell_of_text(const std::string& finished) {
    const auto stamp = storage::stamp_of(folder_ / finished);
    if (stamp != stamps_[finished] && !is_first_) show_line(finished + ": the file was read again.");
    stamps_[finished] = stamp;
  }

  void forget(const std::string& gone) {
    present_.erase(gone);
    named_.erase(gone);
    show_line(base::escaped(gone) + ": the file is not there any more.");
  }

  /// The options with which session_from() measures, so that nothing is measured twice.
  [[nodiscard]] MeasureOptions measure_options() const {
    try {
      std::error_code fault;
      if (fs::exists(folder_ / kFactsName, fault)) return with_facts({}, read_session_file(folder_ / kFactsName).facts);
    } catch (const Error&) {  // session_from() reports the reason
    }
    return {};
  }

  /// Measures new recordings, and shows one line for each, or for each of its stretches in the log.
  void measure(const std::vector<std::string>& finished, const WatchedLog& log) {
    struct Part {
      LogEntry entry;
      MeasureOptions options;
    };
    std::vector<Part> parts;
    const MeasureOptions options = measure_options();
    for (const std::string& capture : finished) {
      if (!is_capture_name(capture)) continue;
      named_.erase(capture);
      std::vector<LogEntry> rows = log.rows_of(capture);
      if (rows.empty()) rows.push_back({.capture = capture});
      for (LogEntry& row : rows) {
        row.capture = capture;
        Part part{row, options};
        part.options.from_s = row.from_s;
        part.options.to_s = row.to_s;
        if (measured_.is_new(folder_ / capture, part.options)) parts.push_back(std::move(part));
      }
    }
    Progress progress(console_, "recordings");
    progress.tell(0, parts.size());
    const auto work = [&](std::size_t i) {
      return measured_.of(folder_ / parts[i].entry.capture, parts[i].entry.capture, parts[i].options);
    };
    in_order(parts.size(), command_.jobs, work, [&](std::size_t i, const Measured& result) {
      show_line(measured_line(parts[i].entry, result));
      progress.tell(i + 1, parts.size());
    });
  }

  void solve() {
    try {
      const auto measure = [this](const fs::path& path, const std::string& capture, const MeasureOptions& options) {
        return measured_.of(path, capture, options);
      };
      const Session session = session_from(command_.folder, command_.options, command_.jobs, {}, measure);
      Solution solution = evenwall::solve(session, with_calibration(command_.options, session.facts, command_.folder));
      solution.source = command_.folder;
      show(solution);
      fault_.clear();
    } catch (const Error& error) {
      if (error.kind() == ErrorKind::kInternal) throw;
      std::string fault = error.what();
      if (!fault.starts_with(name())) fault = name() + ": " + fault;
      if (fault != fault_) note(fault);
      fault_ = fault;
      answer_.clear();
    }
  }

  void show(const Solution& solution) {
    const std::string answer = to_json(solution);
    if (command_.common.json) {
      console_.out(answer + "\n");
    } else if (answer == answer_) {
      console_.out("The answer has not changed.\n");
    } else {
      console_.out("\n" + solution_brief(solution, console_.colour()) + "\n");
    }
    answer_ = answer;
    const std::string results = results_of(solution);
    if (command_.bell && !command_.common.json && results != results_) console_.bell();
    results_ = results;
    if (!command_.common.strict || solution.warnings.empty()) return;
    console_.complain(strict_failure(name() + ": ", solution.warnings.front()));
    strictly_bad_ = true;
  }

  /// Names each recording that has no row, once, or asks for its tilt. Without a log, all recordings are steps at unknown azimuths.
  void name_missing(const WatchedLog& log) {
    std::set<std::string> without_row;
    for (const std::string& capture : present_) {
      if (log.exists() && log.is_readable() && log.rows_of(capture).empty()) without_row.insert(capture);
    }
    std::erase_if(named_, [&](const std::string& capture) { return !without_row.contains(capture); });
    // The user set the tilts one after the other, and remembers them in this order.
    std::vector<std::string> missing(without_row.begin(), without_row.end());
    std::sort(missing.begin(), missing.end(), named_before);
    missing = storage::oldest_first(folder_, missing);
    for (const std::string& capture : missing) {
      if (!named_.insert(capture).second) continue;
      note(base::escaped(capture) + ": steps.csv has no row for this recording. It is not fitted. Add a row for it.");
    }
    questions_.ask(missing, log.columns());
  }

  /// Returns whether a row was added.
  bool answer() {
    const auto added = questions_.answer(folder_);
    if (!added) return false;
    watch_.looks().accept(kLogName);
    return true;
  }

  const WatchCommand& command_;
  Console console_;
  fs::path folder_;
  FolderWatch watch_;
  MeasuredOnce measured_;
  TiltQuestions questions_;
  std::set<std::string> present_;                                    // finished recordings in the folder
  std::map<std::string, std::optional<storage::FileStamp>> stamps_;  // of steps.csv and session.json when they were read last
  std::set<std::string> named_;                                      // recordings without a row that were named
  std::string answer_, fault_;                                       // those shown last
  std::string results_;                                              // the answer without the facts of the session
  bool is_first_ = true;
  bool strictly_bad_ = false;
};

}  // namespace

int run_watch(const WatchCommand& command) {
  require_session_folder(command.folder);
  return WatchRun(command).run();
}

}  // namespace evenwall::internal::app
