// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/session_input.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <set>
#include <string_view>

#include "app/capture_measurement.hpp"
#include "app/folder_captures.hpp"
#include "app/in_order.hpp"
#include "app/joined_sides.hpp"
#include "app/named_capture.hpp"
#include "app/options.hpp"
#include "app/step_intake.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "storage/nearest_file.hpp"
#include "tables/number_text.hpp"
#include "tables/step_log.hpp"

namespace evenwall::internal::app {
namespace {

constexpr double kMeterTone_hz = 1000;        // tone of a meter table, if none is stated
constexpr std::size_t kMostSuggestions = 20;  // each reads a folder; a log with more faults is wrong as a whole
constexpr const char* kMeterColumn = "right_into_left_db";

/// The rows of a session, each made when it is requested.
struct Rows {
  std::size_t size;
  std::function<std::variant<LogEntry, BadRow>(std::size_t)> row;
};

/// Measures the stretch of each step. Each stretch is measured once, because a log gives no stretch to two steps.
void measure_steps(const Rows& rows, const fs::path& folder, MeasureOptions options, int jobs, const ProgressTold& told,
                   const MeasureCapture& measure, const SessionFacts& facts, StepIntake& intake, const std::function<void(Warning)>& warn) {
  options = with_facts(options, facts);
  const NamedCaptures names(folder);
  const auto work = [&](std::size_t i) {
    const std::variant<LogEntry, BadRow> row = rows.row(i);
    if (const auto* bad = std::get_if<BadRow>(&row)) return Step{LogEntry{.capture = bad->capture}, bad->error};
    LogEntry entry = std::get<LogEntry>(row);
    entry.capture = names.file_of(entry.capture);
    MeasureOptions at = options;
    at.from_s = entry.from_s;
    at.to_s = entry.to_s;
    // A name in a log always names a file. This also holds for "-" if the log is in the working folder.
    const fs::path path = folder.empty() && entry.capture == "-" ? fs::path("./-") : folder / entry.capture;
    return Step{entry, measure(path, entry.capture, at)};
  };
  const auto suggestion = [&](const std::string& capture) {
    const std::string several = names.several_sentence(capture);
    return several.empty() ? storage::nearest_file_sentence(folder / capture) : several;
  };
  if (told) told(0, rows.size);
  std::size_t failed = 0;
  const auto hand_over = [&](Step step) {
    // A warning of the log names a row that cannot be used already.
    if (step.error() && step.error()->code == ReadingFault::kStepUnreadable) return intake.keep(std::move(step));
    intake.add(std::move(step));
  };
  JoinedSides sides(folder, options, hand_over, warn);
  in_order(rows.size, jobs, work, [&](std::size_t i, Step step) {
    auto* error = std::get_if<ReadingError>(&step.result);
    if (error != nullptr && error->code == ReadingFault::kUnreadable && ++failed <= kMostSuggestions)
      error->message += suggestion(step.log.capture);
    sides.add(std::move(step));
    if (told) told(i + 1, rows.size);
  });
  sides.finish();
}

/// A session with the facts of the session.json in the log's folder, if there is one.
Session session_beside(const fs::path& log) {
  Session session;
  const fs::path facts = log.parent_path() / "session.json";
  std::error_code fault;
  // An existing entry is read, or refused with the reason. This includes a link whose target does not exist.
  if (fs::exists(fs::symlink_status(facts, fault))) {
    SessionFile file = read_session_file(facts);
    session.facts = std::move(file.facts);
    session.warnings = std::move(file.warnings);
  }
  return session;
}

/// `log`: path of the log, which need not exist.
void measure_session(const Rows& rows, const fs::path& log, const SolveOptions& options, int jobs, const ProgressTold& told,
                     const MeasureCapture& measure, Session& session) {
  MeasureOptions measure_options;
  measure_options.frequency_hz = options.frequency_hz;
  StepIntake intake(session, base::escaped(log.string()));
  const SessionFacts facts = session.facts;
  const auto warn = [&](Warning warning) { session.warnings.push_back(std::move(warning)); };
  measure_steps(rows, log.parent_path(), measure_options, jobs, told, measure, facts, intake, warn);
  intake.finish();
}

Session session_of_log(const fs::path& log, const SolveOptions& options, int jobs, const ProgressTold& told,
                       const MeasureCapture& measure) {
  Session session = session_beside(log);
  const tables::LoggedSteps logged(log);
  session.warnings.insert(session.warnings.end(), logged.warnings().begin(), logged.warnings().end());
  measure_session({logged.size(), [&](std::size_t i) { return logged.row(i); }}, log, options, jobs, told, measure, session);
  return session;
}

/// A folder without a log: its recordings by name, at azimuths that are not known.
Session session_of_captures(const fs::path& folder, const SolveOptions& options, int jobs, const ProgressTold& told,
                            const MeasureCapture& measure) {
  const std::vector<std::string> names = captures_in(folder);
  if (names.empty()) {
    throw Error(ErrorKind::kInput, base::escaped(folder.string()) +
                                       ": the folder holds neither a steps.csv nor recordings. It was not solved. Put recordings in it, or "
                                       "write a log with the columns capture and tilt_deg.");
  }
  Session session = session_beside(folder / "steps.csv");
  const auto entry = [&](std::size_t i) { return std::variant<LogEntry, BadRow>(LogEntry{.capture = names[i]}); };
  measure_session({names.size(), entry}, folder / "steps.csv", options, jobs, told, measure, session);
  return session;
}

Session session_of_meter_table(const fs::path& table, const std::string& text, const SolveOptions& options) {
  Session session = session_beside(table);
  const OptionalNumber asked_hz = options.frequency_hz ? options.frequency_hz : session.facts.frequency_hz;
  MeterTable read = meter_table_from_csv(text, base::escaped(table.string()), asked_hz.value_or(kMeterTone_hz));
  session.steps = std::move(read.steps);
  session.warnings.insert(session.warnings.end(), read.warnings.begin(), read.warnings.end());
  return session;
}

bool is_meter_table(const std::string& text) {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find_first_of("\r\n", at), text.size());
    const std::string line = tables::column_name(text.substr(at, end - at));  // in lower case
    at = end + 1;
    if (line.find_first_not_of(",;") == std::string::npos || line[0] == '#') continue;
    return line.find(kMeterColumn) != std::string::npos;
  }
  return false;
}

constexpr std::size_t kWorthThreads = 32;  // lines; each takes about 50 µs
constexpr std::size_t kLinesAtATime = 4096;
constexpr std::size_t kLinesInAGroup = 32;  // that a thread reads before it hands them over

/// The first `count` lines of a text, or all if it has fewer.
std::string_view first_lines(std::string_view text, std::size_t count) {
  std::size_t end = 0;
  for (std::size_t i = 0; i < count && end < text.size(); ++i) end = std::min(text.find('\n', end), text.size() - 1) + 1;
  return text.substr(0, end);
}

/// Makes a session from lines of readings. Many lines are read in parallel.
Session session_of_lines(std::string_view text, const std::string& name, int jobs) {
  ReadingsIntake intake(name);
  for (int first = 1; !text.empty();) {
    const std::string_view part = first_lines(text, kLinesAtATime);
    std::vector<ReadingLine> lines = reading_lines(part);
    for (ReadingLine& line : lines) line.number += first - 1;
    if (lines.size() < kWorthThreads) {
      for (const ReadingLine& line : lines) intake.add(reading_from_line(line, name));
    } else {
      const auto work = [&](std::size_t i) {
        std::vector<Reading> group;
        const auto end = std::min(lines.size(), (i + 1) * kLinesInAGroup);
        for (std::size_t k = i * kLinesInAGroup; k < end; ++k) group.push_back(reading_from_line(lines[k], name));
        return group;
      };
      in_order((lines.size() + kLinesInAGroup - 1) / kLinesInAGroup, jobs, work, [&](std::size_t, std::vector<Reading> group) {
        for (Reading& reading : group) intake.add(std::move(reading));
      });
    }
    first += static_cast<int>(kLinesAtATime);
    text.remove_prefix(part.size());
  }
  return intake.finish();
}

}  // namespace

std::vector<std::string> files_of(const std::string& input) {
  std::vector<std::string> files{input};
  std::error_code fault;
  const bool is_folder = fs::is_directory(input, fault);
  const fs::path log = is_folder ? fs::path(input) / "steps.csv" : fs::path(input);
  if (log.extension() != ".csv") return files;
  const fs::path facts = log.parent_path() / "session.json";
  if (is_folder && !fs::exists(fs::symlink_status(log, fault))) {
    try {
      for (const std::string& capture : captures_in(log.parent_path())) files.push_back((log.parent_path() / capture).string());
    } catch (const Error&) {  // reported when the session is read
    }
  }
  files.insert(files.end(), {log.string(), facts.string()});
  try {
    const tables::LoggedSteps logged(log);
    const NamedCaptures names(log.parent_path());
    std::set<std::string> captures;  // lists each capture once, because a log may use many stretches of one capture
    for (std::size_t i = 0; i < logged.size(); ++i) {
      const std::variant<LogEntry, BadRow> row = logged.row(i);
      const std::string& capture = std::visit([](const auto& kind) -> const std::string& { return kind.capture; }, row);
      if (captures.insert(capture).second) files.push_back((log.parent_path() / names.file_of(capture)).string());
    }
    if (const auto calibration = read_session_file(facts).facts.calibration) files.push_back((log.parent_path() / *calibration).string());
  } catch (const Error&) {  // reported when the session is read
  }
  return files;
}

Session session_of_readings(std::vector<Reading> readings) {
  ReadingsIntake intake("readings");
  for (Reading& reading : readings) intake.add(std::move(reading));
  return intake.finish();
}

Session session_from(const std::string& input, const SolveOptions& options, int jobs, const ProgressTold& told,
                     const MeasureCapture& measure) {
  if (input == "-") return session_of_lines(read_stream(kStandardInput, kMostText_bytes), "standard input", jobs);
  const fs::path path = input;
  std::error_code fault;
  if (fs::is_directory(path, fault)) {
    // A link whose target does not exist is refused with the reason when it is read.
    if (!fs::exists(fs::symlink_status(path / "steps.csv", fault))) return session_of_captures(path, options, jobs, told, measure);
    return session_of_log(path / "steps.csv", options, jobs, told, measure);
  }
  if (path.extension() != ".csv" && path.extension() != ".jsonl" && fs::exists(path, fault)) {
    throw Error(ErrorKind::kInput, base::escaped(input) +
                                       ": this is neither a session folder, a step log or meter table (.csv) nor readings (.jsonl). It was "
                                       "not read. Name one of these.");
  }
  const std::string text = read_text(path, kMostText_bytes);
  if (path.extension() == ".jsonl") return session_of_lines(text, input, jobs);
  if (is_meter_table(text)) {
    return session_of_meter_table(path, text, options);
  }
  return session_of_log(path, options, jobs, told, measure);
}

}  // namespace evenwall::internal::app
