// SPDX-License-Identifier: GPL-3.0-or-later
// Fuzzes the readers of solutions, calibrations and scenarios; the first byte selects the kind. A solution or calibration that was read can
// be shown, and it stays the same when it is written and read again.
#include "evenwall/files.hpp"
#include "evenwall/report.hpp"
#include "evenwall/simulate.hpp"
#include "fuzz/fuzz_target.hpp"

using namespace evenwall;

namespace {

void try_solution(std::string_view text) {
  const Solution solution = solution_from_json(text, "fuzz");
  const std::string written = to_json(solution);
  fuzz::require(to_json(solution_from_json(written, "again")) == written);
  const std::string shown = solution_text(solution, false) + crosstalk_chart_text(solution);
  fuzz::require(shown.find('\x1b') == std::string::npos && shown.find('\r') == std::string::npos);
}

void try_calibration(std::string_view text) {
  const Calibration calibration = calibration_from_json(text, "fuzz");
  const std::string written = to_json(calibration);
  fuzz::require(to_json(calibration_from_json(written, "again")) == written);
  fuzz::require(!calibration_text(calibration, false).empty());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string_view text = fuzz::text_of(data + 1, size - 1);
  fuzz::refuses_or([&] {
    if (data[0] == 's') try_solution(text);
    if (data[0] == 'c') try_calibration(text);
    if (data[0] == 'm') static_cast<void>(scenario_from_json(text, "fuzz"));
  });
  return 0;
}
