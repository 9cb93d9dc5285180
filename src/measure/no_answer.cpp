// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/no_answer.hpp"

#include <fmt/format.h>

#include "base/tone_shift.hpp"
#include "evenwall/error.hpp"

namespace evenwall::internal::measure {
void no_answer(const std::string& found, const std::string& remedy) {
  throw Error(ErrorKind::kData, found + ". The recording is not measured. " + remedy + ".");
}

void refuse_frequency(const std::vector<AtFrequency>& all, double asked_hz) {
  std::string found, hint;
  for (const AtFrequency& a : all) {
    found += fmt::format("{}{:.1f} Hz", found.empty() ? "" : ", ", a.frequency_hz);
    const std::string_view cause = base::cause_of_shift(a.frequency_hz / asked_hz);
    if (!cause.empty()) hint = fmt::format(". {:.1f} Hz matches if {}", a.frequency_hz, cause);
  }
  no_answer(fmt::format("no tone of one channel lies within 5 % of {:.1f} Hz; the recording has {}", asked_hz, found),
            "State a frequency that it has, or check the sample rate" + hint);
}

}  // namespace evenwall::internal::measure
