// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/format.h>

#include <set>

#include "app/capture_reading.hpp"
#include "app/commands.hpp"
#include "app/console.hpp"
#include "app/in_order.hpp"
#include "app/output.hpp"
#include "app/progress.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "evenwall/report.hpp"
#include "sandbox/writer_process.hpp"

namespace evenwall::internal::app {
namespace {

// No record turns. A revolution this short lets the shortest passage hold two, so none is charged with a warp that it could not show.
constexpr double kNoRecord_rpm = 300.0;

/// A capture may hold one side and any number of tones: only the captures together can lack something. And where no groove turns, a short
/// passage hides no warp.
bool is_of_no_concern(const Warning& warning) {
  static const std::set<std::string> codes{"missing_passage", "frequency_chosen", "short_passage"};
  return codes.count(warning.code) > 0;
}

class CalibrateRun {
 public:
  explicit CalibrateRun(const CalibrateCommand& command)
      : command_(command), console_(command.common.quiet ? Chatter::kQuiet : Chatter::kNormal) {}

  int run() {
    if (command_.common.output) check_output(*command_.common.output, command_.captures, WriteKind::kWhole, "evenwall/calibration/");
    const std::vector<Reading> readings = measured();
    Calibration calibration = calibrate(readings);
    for (const Reading& reading : readings) add_warnings(reading, calibration.warnings);
    const bool strictly_bad = !calibration.warnings.empty() && command_.common.strict;
    deliver(calibration, strictly_bad);
    if (!strictly_bad) return kExitAnswered;
    console_.complain(
        fmt::format("{} under --strict ({}); mend it, or run without", calibration.warnings[0].code, calibration.warnings[0].message));
    return kExitNoAnswer;
  }

 private:
  std::vector<Reading> measured() {
    MeasureOptions options;
    options.rpm = kNoRecord_rpm;
    std::vector<Reading> readings;
    const auto work = [&](std::size_t i) { return reading_of(command_.captures[i], command_.captures[i], options); };
    Progress progress(console_, "captures");
    progress.tell(0, command_.captures.size());
    const auto take = [&](std::size_t i, const Reading& reading) {
      if (reading.error) console_.complain(reading.error->message);
      readings.push_back(reading);
      progress.tell(i + 1, command_.captures.size());
    };
    in_order(command_.captures.size(), command_.jobs, work, take);
    return readings;
  }

  static void add_warnings(const Reading& reading, Warnings& warnings) {
    if (reading.error) warnings.push_back({"capture_unreadable", "capture left out: " + reading.error->message});
    for (const Warning& w : reading.warnings) {
      if (!is_of_no_concern(w)) warnings.push_back({w.code, base::escaped(reading.capture) + ": " + w.message});
    }
  }

  void deliver(const Calibration& calibration, bool strictly_bad) {
    const std::string document = to_json(calibration) + "\n";
    const bool to_file = command_.common.output.has_value();
    if (command_.common.json) {
      for (const Warning& w : calibration.warnings) {
        if (w.code != "capture_unreadable") console_.warn(w.code + ": " + w.message);
      }
    }
    // The table is told beside the file: a matrix is for `solve`, and nobody reads it.
    if (to_file && !strictly_bad) sandbox::put_whole(*command_.common.output, document);
    if (!command_.common.json) {
      console_.out(calibration_text(calibration, console_.colour()));
    } else if (!to_file) {
      console_.out(document);
    }
  }

  const CalibrateCommand& command_;
  Console console_;
};

}  // namespace

int run_calibrate(const CalibrateCommand& command) { return CalibrateRun(command).run(); }

}  // namespace evenwall::internal::app
