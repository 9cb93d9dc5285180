// SPDX-License-Identifier: GPL-3.0-or-later
// steps.csv: a row that cannot be used costs that step only.
#include <cmath>

#include "evenwall/files.hpp"
#include "fuzz/fuzz_target.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const Descriptor file = fuzz::file_of(fuzz::text_of(data, size));
  fuzz::refuses_or([&] {
    const StepLog log = read_step_log(fuzz::path_of(file));
    fuzz::require(!log.steps.empty());
    for (const Step& step : log.steps) {
      const Reading& reading = step.reading;
      if (reading.error) continue;
      fuzz::require(!reading.capture.empty());
      for (const OptionalNumber& number : {reading.tilt_deg, reading.tilt_units, reading.tilt_u, step.from_s, step.to_s, step.sequence})
        fuzz::require(!number || std::isfinite(*number));
    }
    for (const Warning& w : log.warnings) fuzz::require(!w.code.empty() && w.message.find('\n') == std::string::npos);
  });
  return 0;
}
