// SPDX-License-Identifier: GPL-3.0-or-later
// Fuzzes the reader of steps.csv: a row that cannot be used excludes only its own step.
#include <cmath>

#include "evenwall/files.hpp"
#include "fuzz/fuzz_target.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const Descriptor file = fuzz::file_of(fuzz::text_of(data, size));
  fuzz::refuses_or([&] {
    const StepLog log = read_step_log(fuzz::path_of(file));
    fuzz::require(!log.rows.empty());
    for (const auto& row : log.rows) {
      const auto* entry = std::get_if<LogEntry>(&row);
      if (entry == nullptr) continue;
      fuzz::require(!entry->capture.empty());
      for (const OptionalNumber& number : {entry->tilt_deg, entry->tilt_units, entry->tilt_u, entry->from_s, entry->to_s, entry->sequence})
        fuzz::require(!number || std::isfinite(*number));
    }
    for (const Warning& w : log.warnings) fuzz::require(w.code != WarningCode::kOther && w.message.find('\n') == std::string::npos);
  });
  return 0;
}
