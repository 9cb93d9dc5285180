// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/format.h>

#include "app/capture_measurement.hpp"
#include "app/commands.hpp"
#include "app/console.hpp"
#include "app/in_order.hpp"
#include "app/output.hpp"
#include "app/progress.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "evenwall/report.hpp"
#include "evenwall/words.hpp"
#include "sandbox/writer_process.hpp"
#include "storage/nearest_file.hpp"

namespace evenwall::internal::app {
namespace {

// No record is playing. With so short a revolution the shortest passage holds two turns, so that no uncertainty for a warp is added.
constexpr double kNoRecord_rpm = 300.0;

/// Whether a capture's warning does not matter here. One capture may hold one side and any number of tones, because only all captures
/// together must be complete. Without a groove, a short passage cannot hide a warp. A repeated tone does not mean another tilt.
bool is_of_no_concern(const Warning& warning) {
  return warning.code == WarningCode::kMissingPassage || warning.code == WarningCode::kFrequencyChosen ||
         warning.code == WarningCode::kShortPassage || warning.code == WarningCode::kSeveralSettings;
}

class CalibrateRun {
 public:
  explicit CalibrateRun(const CalibrateCommand& command)
      : command_(command), console_(command.common.quiet ? Chatter::kQuiet : Chatter::kNormal) {}

  int run() {
    if (command_.common.output) check_output(*command_.common.output, command_.captures, WriteKind::kWhole, "evenwall/calibration/");
    measure_all();
    if (holds_a_record_) return kExitNoAnswer;
    Calibration calibration = calibrate(measurements_);
    calibration.warnings.insert(calibration.warnings.end(), warnings_.begin(), warnings_.end());
    const bool strictly_bad = !calibration.warnings.empty() && command_.common.strict;
    deliver(calibration, strictly_bad);
    if (!strictly_bad) return kExitAnswered;
    console_.complain(strict_failure("", calibration.warnings[0]) + " The warning: " + calibration.warnings[0].message);
    return kExitNoAnswer;
  }

 private:
  void measure_all() {
    MeasureOptions options;
    options.rpm = kNoRecord_rpm;
    const auto work = [&](std::size_t i) { return measured(command_.captures[i], command_.captures[i], options); };
    Progress progress(console_, "recordings");
    progress.tell(0, command_.captures.size());
    const auto take = [&](std::size_t i, const Measured& result) {
      if (const auto* error = std::get_if<ReadingError>(&result)) {
        console_.complain(error->message + storage::nearest_file_sentence(command_.captures[i]));
        warnings_.push_back({WarningCode::kCaptureUnreadable, "the recording is excluded: " + error->message});
      } else {
        add(command_.captures[i], std::get<Measurement>(result));
      }
      progress.tell(i + 1, command_.captures.size());
    };
    in_order(command_.captures.size(), command_.jobs, work, take);
  }

  void add(const std::string& capture, const Measurement& measurement) {
    if (const auto record = record_in_calibration(measurement)) {
      console_.complain(fmt::format("{}: {}: {}", base::escaped(capture), enum_name(record->code), record->message));
      holds_a_record_ = true;
    }
    measurements_.push_back(measurement);
    for (const Warning& w : measurement.warnings) {
      if (!is_of_no_concern(w)) warnings_.push_back({w.code, base::escaped(capture) + ": " + w.message});
    }
  }

  void deliver(const Calibration& calibration, bool strictly_bad) {
    const std::string document = to_json(calibration) + "\n";
    const bool to_file = command_.common.output.has_value();
    if (command_.common.json) {
      for (const Warning& w : calibration.warnings) {
        if (w.code != WarningCode::kCaptureUnreadable) console_.warn(enum_name(w.code) + ": " + w.message);
      }
    }
    // The table is also shown if a file is written, because the file's matrix is for `solve` and not for people.
    if (to_file && !strictly_bad) sandbox::put_whole(*command_.common.output, document);
    if (!command_.common.json) {
      console_.out(calibration_text(calibration, console_.colour()));
    } else if (!to_file) {
      console_.out(document);
    }
  }

  const CalibrateCommand& command_;
  Console console_;
  std::vector<Measurement> measurements_;
  bool holds_a_record_ = false;  ///< whether a recording is that of a record
  Warnings warnings_;            ///< warnings of the captures, in their order
};

}  // namespace

int run_calibrate(const CalibrateCommand& command) { return CalibrateRun(command).run(); }

}  // namespace evenwall::internal::app
