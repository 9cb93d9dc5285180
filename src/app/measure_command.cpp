// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/format.h>

#include "app/capture_measurement.hpp"
#include "app/commands.hpp"
#include "app/console.hpp"
#include "app/hashed_measurement.hpp"
#include "app/in_order.hpp"
#include "app/kept_readings.hpp"
#include "app/output.hpp"
#include "app/progress.hpp"
#include "app/setting_rows.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "evenwall/report.hpp"
#include "evenwall/words.hpp"
#include "sandbox/writer_process.hpp"
#include "storage/kept_stream.hpp"
#include "storage/nearest_file.hpp"

namespace evenwall::internal::app {
namespace {

/// The options from the command line and the session file. The command line takes precedence.
struct Bench {
  std::optional<SessionFacts> facts;
  Warnings warnings;
  MeasureOptions options;
};

Bench bench_of(const MeasureCommand& command) {
  Bench bench;
  if (command.session_path) {
    SessionFile file = read_session_file(*command.session_path);
    bench.facts = std::move(file.facts);
    bench.warnings = std::move(file.warnings);
  }
  bench.options.frequency_hz = command.frequency_hz;
  bench.options.bands = command.bands;
  if (bench.facts) bench.options = with_facts(bench.options, *bench.facts);
  if (command.rpm) bench.options.rpm = command.rpm;
  return bench;
}

/// The log entry of a capture, from the command line, because there is no log.
LogEntry entry_of(const MeasureCommand& command, const std::string& capture) {
  LogEntry log;
  log.capture = capture;
  log.tilt_deg = command.tilt_deg;
  log.tilt_units = command.tilt_units;
  log.tilt_u = command.tilt_u;
  log.use = command.use;
  return log;
}

/// Standard input has the name that is stated for it, or that of the file in which its audio is kept.
std::string name_of(const MeasureCommand& command, const std::string& capture) {
  if (capture != "-") return capture;
  return command.name ? *command.name : command.keep_path.value_or(capture);
}

Reading bench_reading(const MeasureCommand& command, const Bench& bench, const std::string& capture, const MeasureCapture& measure) {
  const std::string name = name_of(command, capture);
  Measured result = measure(capture, name, bench.options);
  if (auto* measurement = std::get_if<Measurement>(&result)) {
    measurement->warnings.insert(measurement->warnings.begin(), bench.warnings.begin(), bench.warnings.end());
  }
  return {{entry_of(command, name), std::move(result)}, bench.facts};
}

enum class Outcome { kGood, kStrictlyBad, kBad };

class MeasureRun {
 public:
  explicit MeasureRun(const MeasureCommand& command)
      : command_(command), console_(command.common.quiet ? Chatter::kQuiet : Chatter::kNormal), output_(console_, command.common.output) {
    if (command.append_path) kept_.emplace(*command.append_path);
  }

  int run() {
    check_outputs();
    if (command_.keep_path) storage::keep_standard_input({sandbox::kept_file(), base::escaped(*command_.keep_path), sandbox::commit_kept});
    const Bench bench = bench_of(command_);
    bands_ = bench.options.bands;
    struct Done {
      Reading reading;
      std::string rejected;
    };
    HashedMeasurement hashed;
    const MeasureCapture measure = command_.sha256 ? hashed.as_function() : MeasureCapture(measured);
    const auto work = [&](std::size_t i) {
      const std::string& capture = command_.captures[i];
      Done done{bench_reading(command_, bench, capture, measure), ""};
      // A stream cannot be read a second time.
      std::error_code fault;
      if (command_.rejected && capture != "-" && fs::is_regular_file(capture, fault)) done.rejected = rejected_in(capture, bench.options);
      return done;
    };
    Progress progress(console_, "recordings");
    progress.tell(0, command_.captures.size());
    const auto take = [&](std::size_t i, const Done& done) {
      deliver(done.reading);
      if (!done.rejected.empty()) console_.aside(done.rejected);
      progress.tell(i + 1, command_.captures.size());
    };
    in_order(command_.captures.size(), command_.jobs, work, take);
    // Without any reading, an existing output file is not replaced.
    if (answers_ > 0 && worst_ != Outcome::kStrictlyBad) output_.finish();
    return worst_ == Outcome::kGood && !failed_ ? kExitAnswered : kExitNoAnswer;
  }

 private:
  void check_outputs() const {
    const auto& output = command_.common.output;
    const auto& append = command_.append_path;
    std::vector<std::string> inputs = command_.captures;
    if (command_.session_path) inputs.push_back(*command_.session_path);
    for (const auto& other : {output, append}) {
      if (command_.keep_path && other && same_file(*command_.keep_path, *other))
        throw Error(ErrorKind::kInput, base::escaped(*other) + ": --keep names this file, too. Nothing was written. Name two files.");
    }
    // Only the flag states that readings in the file may be replaced. A name alone may be a mistake for --append.
    if (output) check_output(*output, inputs, WriteKind::kWhole, command_.common.json ? "evenwall/reading/" : "");
    if (append) check_output(*append, inputs, WriteKind::kAppend);
    if (output && append && same_file(*output, *append)) {
      throw Error(ErrorKind::kInput, base::escaped(*append) + ": -o and --append name the same file. Nothing was written. Name two files.");
    }
  }

  void deliver(const Reading& reading) {
    Outcome outcome = judge(reading);
    if (command_.split && outcome == Outcome::kGood && !show_settings(reading)) outcome = Outcome::kBad;
    if (outcome == Outcome::kBad) failed_ = true;
    if (outcome == Outcome::kGood) ++answers_;
    if (outcome == Outcome::kStrictlyBad) worst_ = outcome;
    if (outcome == Outcome::kGood) keep(reading);
    // With --append, a reading that --strict refuses is not added, so it is not shown either.
    if (!command_.split && (outcome != Outcome::kStrictlyBad || !kept_)) show(reading);
  }

  /// Adds the reading to the file, if one is named, once. Throws: Error(kInput), which ends the batch: the following captures would
  /// fail in the same way, and the whole command can be repeated.
  void keep(const Reading& reading) {
    if (!kept_) return;
    const std::string name = base::escaped(reading.step.log.capture), file = base::escaped(*command_.append_path);
    try {
      std::optional<KeptReadings::Held> there = kept_->holding(reading);
      if (!there && !sandbox::put_line(*command_.append_path, to_json(reading))) there = {reading.step.log.capture, true};
      if (!there) return;
      const std::string as = there->capture == reading.step.log.capture ? "" : fmt::format(" (as {})", base::escaped(there->capture));
      const char* lost =
          command_.sha256 && !there->has_sha256 ? " The reading there has no SHA-256. To keep it, add the reading to another file." : "";
      console_.warn(fmt::format("{}: {} already holds this reading{}. It was not added again.{}", name, file, as, lost));
    } catch (const Error& error) {
      if (error.kind() != ErrorKind::kInput) throw;
      const std::string why = error.what();
      throw Error(ErrorKind::kInput, fmt::format("{}: the reading was not added, and the batch ends here. {}{} Then repeat the command: "
                                                 "it adds no reading twice.",
                                                 name, why, why.ends_with('.') ? "" : "."));
    }
  }

  /// The name of a recording in the log to which its rows belong. A text that was stated for standard input stays as it is.
  [[nodiscard]] std::string log_name(const Reading& reading) const {
    const std::string& name = reading.step.log.capture;
    if (reading_stream(reading) && (command_.name || !command_.keep_path)) return name;
    std::vector<std::string> names;
    for (const std::string& capture : command_.captures) names.push_back(name_of(command_, capture));
    return name_in_log(name, folder_of_rows(names, command_.common.output));
  }

  /// Prints the rows of a log for the settings of a recording. Returns whether there are any.
  bool show_settings(const Reading& reading) {
    const std::string rows = setting_rows(reading, log_name(reading), bands_);
    if (rows.empty()) {
      console_.complain(fmt::format("{}: no setting has a left-only and a right-only passage. No row is printed. Capture both bands.",
                                    base::escaped(reading.step.log.capture)));
      return false;
    }
    output_.add((text_given_ ? "" : std::string(kSettingHeader)) + rows);
    text_given_ = true;
    return true;
  }

  void show(const Reading& reading) {
    if (command_.as_json) {
      output_.add(to_json(reading) + "\n");
    } else if (reading.step.measurement()) {
      output_.add((text_given_ ? "\n" : "") + reading_text(reading, output_.colour()));
      text_given_ = true;
    }
  }

  [[nodiscard]] bool reading_stream(const Reading& reading) const { return reading.step.log.capture == name_of(command_, "-"); }

  Outcome judge(const Reading& reading) {
    if (const ReadingError* error = reading.step.error()) {
      console_.complain(error->message + (reading_stream(reading) ? "" : storage::nearest_file_sentence(reading.step.log.capture)));
      return Outcome::kBad;
    }
    const Warnings& warnings = reading.step.measurement()->warnings;
    const bool unseen = command_.as_json || output_.to_file() || command_.split;
    for (const Warning& w : warnings) {
      if (command_.split && w.code == WarningCode::kSeveralSettings) continue;  // the rows are the answer to it
      if (unseen) console_.warn(fmt::format("{}: {}: {}", base::escaped(reading.step.log.capture), enum_name(w.code), w.message));
    }
    if (warnings.empty() || !command_.common.strict) return Outcome::kGood;
    const std::string not_added = kept_ ? " The reading was not added to " + base::escaped(*command_.append_path) + "." : "";
    console_.complain(strict_failure(base::escaped(reading.step.log.capture) + ": ", warnings.front(), not_added));
    return Outcome::kStrictlyBad;
  }

  const MeasureCommand& command_;
  Console console_;
  Output output_;
  std::optional<KeptReadings> kept_;
  Outcome worst_ = Outcome::kGood;
  int answers_ = 0;
  bool failed_ = false;
  bool text_given_ = false;
  std::vector<Band> bands_;
};

}  // namespace

int run_measure(const MeasureCommand& command) { return MeasureRun(command).run(); }

}  // namespace evenwall::internal::app
