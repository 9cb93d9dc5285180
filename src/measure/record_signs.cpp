// SPDX-License-Identifier: GPL-3.0-or-later
// Recognises the recording of a record by two signs: its pitch wanders, because no record turns as steadily as a generator oscillates, and
// it holds a band that is cut in both channels. Surface noise is no sign: electronics may be as noisy as a quiet record.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evenwall/measure.hpp"
#include "measure/method_constants.hpp"
#include "measure/record_constants.hpp"

namespace evenwall::internal::measure {
namespace {

bool same_tone(const Passage& a, const Passage& b) {
  return a.frequency_hz && b.frequency_hz && std::abs(*a.frequency_hz - *b.frequency_hz) <= kSameTone * *b.frequency_hz;
}

/// A both-channel passage with the tone of a one-channel passage, or a both-channel sweep. Any other tone in both channels may be hum.
const Passage* both_channel_band(const std::vector<Passage>& passages) {
  const auto is_band = [&](const Passage& both) {
    if (both.driven != Driven::kBoth) return false;
    if (both.kind == PassageKind::kSweep) return true;
    return both.kind == PassageKind::kTone && std::any_of(passages.begin(), passages.end(), [&](const Passage& one) {
             return one.driven != Driven::kBoth && one.kind == PassageKind::kTone && same_tone(both, one);
           });
  };
  const auto band = std::find_if(passages.begin(), passages.end(), is_band);
  return band == passages.end() ? nullptr : &*band;
}

}  // namespace
}  // namespace evenwall::internal::measure

namespace evenwall {

std::optional<Warning> record_in_calibration(const Measurement& measurement) {
  using namespace internal::measure;
  constexpr const char* kAdvice =
      "No calibration is made, because it would subtract crosstalk of the cartridge. Record the electronics without a record: "
      "feed a generator's tone in place of the cartridge, left only and right only.";
  if (const OptionalNumber wander = measurement.pitch_wander_percent; wander && *wander > kRecordPitchWander_percent) {
    return Warning{WarningCode::kCalibrationFromRecord,
                   fmt::format("the pitch of the tone wanders by {:.3f} %, as on a record; a generator stays below {:.3f} %. {}", *wander,
                               kRecordPitchWander_percent, kAdvice)};
  }
  if (const Passage* band = both_channel_band(measurement.passages)) {
    return Warning{
        WarningCode::kCalibrationFromRecord,
        fmt::format("both channels are driven at {:.1f} s, as on a lateral or vertical band of a record. {}", band->start_s, kAdvice)};
  }
  return std::nullopt;
}

}  // namespace evenwall
