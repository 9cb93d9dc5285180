// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/format.h>

#include <algorithm>

#include "app/calibration_input.hpp"
#include "app/commands.hpp"
#include "app/console.hpp"
#include "app/hashed_measurement.hpp"
#include "app/output.hpp"
#include "app/progress.hpp"
#include "app/session_folders.hpp"
#include "app/session_input.hpp"
#include "app/sessions_table.hpp"
#include "app/steps_csv.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "evenwall/report.hpp"
#include "evenwall/solve.hpp"
#include "evenwall/survey.hpp"
#include "evenwall/words.hpp"

namespace evenwall::internal::app {
namespace {

constexpr std::size_t kMostSurvey_bytes = 256U << 20U;  // a hundred thousand cartridges take 40 MB

class SolveRun {
 public:
  explicit SolveRun(const SolveCommand& command)
      : command_(command),
        inputs_(with_sessions_of_folders(command.inputs)),
        options_(command.options),
        console_(command.common.quiet ? Chatter::kQuiet : Chatter::kNormal),
        output_(console_, command.common.output) {}

  int run() {
    check_outputs();
    if (options_.calibration_path) options_.calibration = read_calibration(*options_.calibration_path);
    if (command_.record_correction_path) read_survey(*command_.record_correction_path);
    Progress sessions(console_, "sessions");
    for (std::size_t i = 0; i < inputs_.size(); ++i) {
      Progress captures(console_, "recordings");
      // With many sessions, progress counts sessions; with one, it counts its captures.
      const bool many = inputs_.size() > 1;
      if (many) sessions.tell(i, inputs_.size());
      try_input(inputs_[i], many ? ProgressTold() : captures.told());
    }
    if (command_.view == SolutionView::kTable && answers_ > 0) output_.add(sessions_table(lines_));
    // The calibration that a session names is known only after the session is read.
    if (command_.common.output) refuse_input_as_output(*command_.common.output, calibrations_);
    if (answers_ > 0 && !strictly_bad_) output_.finish();
    return failed_ || strictly_bad_ ? kExitNoAnswer : kExitAnswered;
  }

 private:
  void check_outputs() const {
    if (!command_.common.output) return;
    std::vector<std::string> inputs;
    std::error_code fault;
    if (fs::exists(*command_.common.output, fault)) {
      for (const std::string& input : inputs_) {
        for (std::string& file : files_of(input)) inputs.push_back(std::move(file));
      }
    }
    if (options_.calibration_path) inputs.push_back(*options_.calibration_path);
    if (command_.record_correction_path) inputs.push_back(*command_.record_correction_path);
    check_output(*command_.common.output, inputs);
  }

  /// An input that gives no answer does not affect the other inputs.
  void try_input(const std::string& input, const ProgressTold& told) {
    Session session;
    Solution solution;
    try {
      session = session_from(input, options_, command_.jobs, told, command_.sha256 ? hashed_.as_function() : MeasureCapture(measured));
      if (command_.sha256) name_readings_without_hash(input, session);
      name_what_is_left_out(session);
      if (session.facts.calibration) calibrations_.push_back(calibration_of(*session.facts.calibration, input).string());
      const SolveOptions options = with_record(with_calibration(options_, session.facts, input), session);
      solution = evenwall::solve(session, options);
      solution.source = input;
    } catch (const Error& error) {
      if (error.kind() == ErrorKind::kInternal) throw;
      const std::string message = error.what();
      console_.complain(input != "-" && !message.starts_with(base::escaped(input)) ? base::escaped(input) + ": " + message : message);
      failed_ = true;
      return;
    }
    warn(input, solution);
    if (command_.view == SolutionView::kTable) {
      lines_.push_back(session_line_of(input, solution));
    } else {
      output_.add(document_of(input, solution));
    }
    ++answers_;
  }

  void read_survey(const std::string& path) { survey_ = survey_from_json(read_text(path, kMostSurvey_bytes), base::escaped(path)); }

  /// Adds the cut error of the session's record to the options. If the survey has none, adds a warning to the session.
  SolveOptions with_record(SolveOptions options, Session& session) const {
    if (!survey_) return options;
    RecordLookup found = record_correction_of(*survey_, base::escaped(*command_.record_correction_path), session.facts);
    if (!found.correction) {
      const std::string end = found.why_not.ends_with('.') ? "" : ".";
      session.warnings.push_back({WarningCode::kRecordNotSurveyed, found.why_not + end + " No cutting-azimuth error is subtracted."});
    }
    options.record_correction = std::move(found.correction);
    return options;
  }

  void name_what_is_left_out(const Session& session) {
    for (const Warning& w : session.warnings) {
      if (w.code == WarningCode::kStepUnreadable) console_.complain(w.message);
    }
  }

  /// Readings and rows of a meter table are not measured here, so they get no SHA-256.
  void name_readings_without_hash(const std::string& input, const Session& session) {
    const auto lacks_hash = [](const Step& step) { return step.measurement() && !step.measurement()->audio.sha256; };
    const auto count = std::count_if(session.steps.begin(), session.steps.end(), lacks_hash);
    if (count == 0) return;
    console_.warn(
        fmt::format("{}: {} of {} steps have no SHA-256, because their recordings are not read here. These steps are solved without "
                    "it. Measure the recordings with measure --sha256.",
                    base::escaped(input), count, session.steps.size()));
  }

  void warn(const std::string& input, const Solution& solution) {
    const SolutionView view = command_.view;
    const bool is_text = view == SolutionView::kBrief || view == SolutionView::kFull || view == SolutionView::kFullWithChart;
    const bool seen = !output_.to_file() && is_text;
    for (const Warning& w : solution.warnings) {
      if (!seen && w.code != WarningCode::kStepUnreadable)
        console_.warn(fmt::format("{}: {}: {}", base::escaped(input), enum_name(w.code), w.message));
    }
    if (solution.warnings.empty() || !command_.common.strict) return;
    console_.complain(strict_failure(base::escaped(input) + ": ", solution.warnings.front()));
    strictly_bad_ = true;
  }

  std::string document_of(const std::string& input, const Solution& solution) const {
    if (command_.view == SolutionView::kJson) return to_json(solution) + "\n";
    if (command_.view == SolutionView::kStepsCsv) return steps_csv(solution);
    if (command_.view == SolutionView::kCsv)
      return (answers_ == 0 ? kSessionsCsvHead : "") + sessions_csv_line(session_line_of(input, solution));
    std::string text = inputs_.size() > 1 ? fmt::format("{}== {} ==\n", answers_ > 0 ? "\n" : "", base::escaped(input)) : "";
    text += command_.view == SolutionView::kBrief ? solution_brief(solution, output_.colour()) : solution_text(solution, output_.colour());
    if (command_.view == SolutionView::kFullWithChart) text += "\n" + crosstalk_chart_text(solution);
    return text;
  }

  const SolveCommand& command_;
  std::vector<std::string> inputs_;  // a folder of sessions is replaced by its sessions
  SolveOptions options_;
  Console console_;
  Output output_;
  HashedMeasurement hashed_;
  std::optional<Survey> survey_;
  std::vector<std::string> calibrations_;  // the files that sessions name
  std::vector<SessionLine> lines_;         // for the table
  int answers_ = 0;
  bool failed_ = false;
  bool strictly_bad_ = false;
};

}  // namespace

int run_solve(const SolveCommand& command) { return SolveRun(command).run(); }

}  // namespace evenwall::internal::app
