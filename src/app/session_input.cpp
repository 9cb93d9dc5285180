#include "app/session_input.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>

#include "app/capture_reading.hpp"
#include "app/in_order.hpp"
#include "app/repeated_recordings.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"

namespace evenwall::app {
namespace {

constexpr int kStandardInput = 0;
constexpr std::size_t kMostReadings_bytes = 64U << 20U;  // the limit of a log (faults L15)
constexpr double kMeterTone_hz = 1000;                   // of a meter table whose tone nobody names
constexpr const char* kMeterColumn = "right_into_left_db";

/// One measurement: a stretch of a capture.
using Stretch = std::tuple<std::string, OptionalNumber, OptionalNumber>;

Stretch stretch_of(const Step& step) { return {step.reading.capture, step.from_s, step.to_s}; }

/// What the log says of the step, with what the signal says.
void fill(Step& step, const Reading& measured, const SessionFacts& facts) {
  Reading reading = measured;
  reading.tilt_deg = step.reading.tilt_deg;
  reading.tilt_units = step.reading.tilt_units;
  reading.tilt_u = step.reading.tilt_u;
  reading.use = step.reading.use;
  if (!reading.error) reading.session = facts;
  step.reading = std::move(reading);
}

void measure_steps(std::vector<Step>& steps, const fs::path& folder, const SessionFacts& facts, MeasureOptions options, int jobs,
                   const ProgressTold& told) {
  options = with_facts(options, facts);
  std::map<Stretch, Reading> measured;
  for (const Step& step : steps) {
    if (!step.reading.error) measured.try_emplace(stretch_of(step));
  }
  std::vector<Stretch> wanted;
  wanted.reserve(measured.size());
  for (const auto& [stretch, reading] : measured) wanted.push_back(stretch);
  const auto work = [&](std::size_t i) {
    MeasureOptions at = options;
    std::string capture;
    std::tie(capture, at.from_s, at.to_s) = wanted[i];
    // A name in a log is a file's, "-" too, though it stands in the working folder.
    return reading_of(folder.empty() && capture == "-" ? fs::path("./-") : folder / capture, capture, at);
  };
  if (told) told(0, wanted.size());
  in_order(wanted.size(), jobs, work, [&](std::size_t i, const Reading& reading) {
    measured[wanted[i]] = reading;
    if (told) told(i + 1, wanted.size());
  });
  for (Step& step : steps) {
    if (!step.reading.error) fill(step, measured[stretch_of(step)], facts);
  }
}

void warn_of_unreadable(Session& session) {
  for (const Step& step : session.steps) {
    if (!step.reading.error) continue;
    // A row of the log that could not be read has been told with the log.
    const auto told = [&](const Warning& w) { return w.message == step.reading.error->message; };
    if (std::any_of(session.warnings.begin(), session.warnings.end(), told)) continue;
    session.warnings.push_back({"step_unreadable", fmt::format("step left out: {}", step.reading.error->message)});
  }
}

/// What stands beside the log in session.json, if anything does.
Session session_beside(const fs::path& log) {
  Session session;
  const fs::path facts = log.parent_path() / "session.json";
  std::error_code fault;
  // Whatever stands there is read, or refused with the reason: a link that leads nowhere, too.
  if (fs::exists(fs::symlink_status(facts, fault))) {
    SessionFile file = read_session_file(facts);
    session.facts = std::move(file.facts);
    session.warnings = std::move(file.warnings);
  }
  return session;
}

void add_steps(Session& session, StepLog log) {
  session.steps = std::move(log.steps);
  session.warnings.insert(session.warnings.end(), log.warnings.begin(), log.warnings.end());
}

Session session_of_log(const fs::path& log, const SolveOptions& options, int jobs, const ProgressTold& told) {
  Session session = session_beside(log);
  add_steps(session, read_step_log(log));
  MeasureOptions measure_options;
  measure_options.frequency_hz = options.frequency_hz;
  measure_steps(session.steps, log.parent_path(), session.facts, measure_options, jobs, told);
  count_recordings_once(session);
  warn_of_unreadable(session);
  for (Warning& w : warnings_of_steps(session.steps)) session.warnings.push_back(std::move(w));
  return session;
}

Session session_of_meter_table(const fs::path& table, const std::string& text, const SolveOptions& options) {
  Session session = session_beside(table);
  const OptionalNumber asked_hz = options.frequency_hz ? options.frequency_hz : session.facts.frequency_hz;
  add_steps(session, meter_table_from_csv(text, escaped(table.string()), asked_hz.value_or(kMeterTone_hz)));
  return session;
}

bool is_meter_table(const std::string& text) {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find_first_of("\r\n", at), text.size());
    const std::string line = text.substr(at, end - at);
    at = end + 1;
    if (line.find_first_not_of(" \t\r") == std::string::npos || line[0] == '#') continue;
    return line.find(kMeterColumn) != std::string::npos;
  }
  return false;
}

bool same_facts(const SessionFacts& a, const SessionFacts& b) {
  const auto all = [](const SessionFacts& f) {
    return std::tie(f.cartridge, f.record, f.record_side, f.rig, f.bands, f.gauge_u_deg, f.gauge_zero_u_deg, f.gauge_scale_u,
                    f.record_u_deg, f.cut_level_difference_db, f.cut_level_u_db, f.electronics_crosstalk_db, f.hole_spacing_mm,
                    f.shim_span_mm, f.rpm, f.calibration, f.stylus, f.frequency_hz);
  };
  return all(a) == all(b);
}

constexpr std::size_t kWorthThreads = 32;  // lines, of some 50 µs each

/// Lines of readings, side by side where there are many.
std::vector<Reading> readings_in(const std::string& text, const std::string& name, int jobs) {
  const std::vector<ReadingLine> lines = reading_lines(text);
  std::vector<Reading> readings;
  readings.reserve(lines.size());
  if (lines.size() < kWorthThreads) {
    for (const ReadingLine& line : lines) readings.push_back(reading_from_line(line, name));
    return readings;
  }
  in_order(
      lines.size(), jobs, [&](std::size_t i) { return reading_from_line(lines[i], name); },
      [&](std::size_t, Reading reading) { readings.push_back(std::move(reading)); });
  return readings;
}

}  // namespace

Warnings warnings_of_steps(const std::vector<Step>& steps) {
  std::vector<std::pair<Warning, std::vector<std::string>>> told;
  for (const Step& step : steps) {
    for (const Warning& w : step.reading.warnings) {
      // The fit judges the wiring over all steps, and says once what it made of it.
      if (w.code == "swapped_or_reversed" || w.code == "polarity_reversed") continue;
      const auto same = [&](const auto& t) { return t.first.code == w.code && t.first.message == w.message; };
      auto found = std::find_if(told.begin(), told.end(), same);
      if (found == told.end()) found = told.insert(told.end(), {w, {}});
      if (found->second.empty() || found->second.back() != step.reading.capture) found->second.push_back(step.reading.capture);
    }
  }
  Warnings warnings;
  for (const auto& [warning, captures] : told) {
    const std::string where =
        captures.size() == 1 ? escaped(captures.front()) : fmt::format("{} and {} more", escaped(captures.front()), captures.size() - 1);
    // The session file is one for all steps.
    warnings.push_back({warning.code, warning.code == "unknown_key" ? warning.message : where + ": " + warning.message});
  }
  return warnings;
}

std::vector<std::string> files_of(const std::string& input) {
  std::vector<std::string> files{input};
  std::error_code fault;
  const bool is_folder = fs::is_directory(input, fault);
  const fs::path log = is_folder ? fs::path(input) / "steps.csv" : fs::path(input);
  if (log.extension() != ".csv") return files;
  const fs::path facts = log.parent_path() / "session.json";
  files.insert(files.end(), {log.string(), facts.string()});
  try {
    for (const Step& step : read_step_log(log).steps) files.push_back((log.parent_path() / step.reading.capture).string());
    if (const auto calibration = read_session_file(facts).facts.calibration) files.push_back((log.parent_path() / *calibration).string());
  } catch (const Error&) {  // told when the session is read
  }
  return files;
}

Session session_of_readings(std::vector<Reading> readings) {
  Session session;
  const Reading* first = nullptr;
  for (const Reading& reading : readings) {
    if (!reading.session) continue;
    if (first == nullptr) {
      first = &reading;
      session.facts = *reading.session;
    } else if (!same_facts(*first->session, *reading.session)) {
      session.warnings.push_back({"session_differs", fmt::format("{} tells another session than {}; the first is taken. Solve them apart "
                                                                 "if they are two",
                                                                 escaped(reading.capture), escaped(first->capture))});
    }
  }
  session.steps.reserve(readings.size());
  for (Reading& reading : readings) session.steps.emplace_back().reading = std::move(reading);
  count_recordings_once(session);
  warn_of_unreadable(session);
  for (Warning& w : warnings_of_steps(session.steps)) session.warnings.push_back(std::move(w));
  return session;
}

Session session_from(const std::string& input, const SolveOptions& options, int jobs, const ProgressTold& told) {
  if (input == "-") return session_of_readings(readings_in(read_stream(kStandardInput, kMostReadings_bytes), "standard input", jobs));
  const fs::path path = input;
  std::error_code fault;
  if (fs::is_directory(path, fault)) {
    if (!fs::exists(path / "steps.csv", fault)) {
      throw Error(ErrorKind::kInput, escaped(input) + ": holds no steps.csv; write one with the columns capture and tilt_deg");
    }
    return session_of_log(path / "steps.csv", options, jobs, told);
  }
  if (path.extension() != ".csv" && path.extension() != ".jsonl" && fs::exists(path, fault)) {
    throw Error(
        ErrorKind::kInput,
        escaped(input) + ": is neither a session folder, a step log or meter table (.csv) nor readings (.jsonl); name one of these");
  }
  const std::string text = read_text(path, kMostReadings_bytes);
  if (path.extension() == ".jsonl") return session_of_readings(readings_in(text, input, jobs));
  if (is_meter_table(text)) {
    return session_of_meter_table(path, text, options);
  }
  return session_of_log(path, options, jobs, told);
}

}  // namespace evenwall::app
