// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/steps_csv.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "app/csv_cell.hpp"
#include "evenwall/words.hpp"

namespace evenwall::internal::app {
namespace {

constexpr const char* kStepsHead =
    "capture,tilt_deg,tilt_units,tilt_from_signal_deg,audit_deg,u_audit_deg,used,flags,right_into_left_db,left_into_right_db,"
    "right_into_left_phase_deg,left_into_right_phase_deg,balance_db,logged";

std::string flags_cell(const SolvedStep& step) {
  std::string all;
  for (const StepFlag flag : step.flags) all += (all.empty() ? "" : " ") + enum_name(flag);
  return text_cell(all);
}

}  // namespace

std::string steps_csv(const Solution& solution) {
  // Without a SHA-256 and without parts of recordings, the table has the columns that scripts know from earlier versions.
  const bool has_hashes =
      std::any_of(solution.steps.begin(), solution.steps.end(), [](const auto& s) { return s.audio_sha256.has_value(); });
  const bool has_parts = std::any_of(solution.steps.begin(), solution.steps.end(), [](const auto& s) { return s.from_s || s.to_s; });
  std::string csv = std::string(kStepsHead) + (has_hashes ? ",audio_sha256" : "") + (has_parts ? ",from_s,to_s\n" : "\n");
  for (const SolvedStep& s : solution.steps) {
    csv += fmt::format("{},{},{},{},{},{},{},{},{},{},{},{},{},{}", text_cell(s.capture), s.tilt_deg, number_cell(s.tilt_units),
                       s.tilt_from_signal_deg, number_cell(s.audit_deg), s.u_audit_deg, s.used ? "yes" : "no", flags_cell(s),
                       s.right_into_left_db, s.left_into_right_db, number_cell(s.right_into_left_phase_deg),
                       number_cell(s.left_into_right_phase_deg), number_cell(s.balance_db), number_cell(s.logged));
    if (has_hashes) csv += "," + s.audio_sha256.value_or("");
    if (has_parts) csv += fmt::format(",{},{}", number_cell(s.from_s), number_cell(s.to_s));
    csv += "\n";
  }
  return csv;
}

}  // namespace evenwall::internal::app
