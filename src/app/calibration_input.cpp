// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/calibration_input.hpp"

#include "evenwall/files.hpp"

namespace evenwall::internal::app {
namespace {

constexpr std::size_t kMostCalibration_bytes = 1U << 20U;  // enough for thousands of tones

fs::path folder_of(const std::string& input) {
  if (input == "-") return {};
  std::error_code fault;
  return fs::is_directory(input, fault) ? fs::path(input) : fs::path(input).parent_path();
}

}  // namespace

fs::path calibration_of(const std::string& named, const std::string& input) { return folder_of(input) / named; }

Calibration read_calibration(const std::filesystem::path& path) {
  return calibration_from_json(read_text(path, kMostCalibration_bytes), path.string());
}

SolveOptions with_calibration(SolveOptions options, const SessionFacts& facts, const std::string& input) {
  if (options.calibration || !facts.calibration) return options;
  options.calibration = read_calibration(calibration_of(*facts.calibration, input));
  options.calibration_path = facts.calibration;
  return options;
}

}  // namespace evenwall::internal::app
