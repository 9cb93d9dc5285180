// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/tones.hpp"

#include <algorithm>

#include "measure/method_constants.hpp"
#include "measure/steadiness.hpp"

namespace evenwall::internal::measure {

ToneHearing::ToneHearing(AudioSource& source, OptionalNumber rpm) : source_(source), rpm_(rpm) {
  pending_.frame_step_s = scan_step_s(source.info().sample_rate_hz);
}

void ToneHearing::add(const ScanFrame& frame) {
  if (may_be_tone(frame)) {
    last_tonal_s_ = frame.middle_s;
    pending_.frames.push_back(frame);
  } else if (!pending_.frames.empty() && frame.middle_s - last_tonal_s_ > kSurelyOver_s) {
    listen_to_pending();
  }
}

void ToneHearing::listen_to_pending() {
  for (const ToneStretch& stretch : find_tones(pending_, &heard_.rejected)) {
    auto passage = listen(source_, stretch, rpm_);
    const std::string why = passage ? why_no_test_tone(*passage) : "too few of its frames can be used";
    if (why.empty()) {
      heard_.passages.push_back(std::move(*passage));
    } else {
      heard_.rejected.push_back(
          {stretch.start_s, stretch.end_s, stretch.frequency_hz, stretch.driven, why, passage ? passage->clipped_fraction : 0.0});
    }
  }
  pending_.frames.clear();
}

HeardTones ToneHearing::finish() {
  listen_to_pending();
  std::sort(heard_.rejected.begin(), heard_.rejected.end(), [](const auto& a, const auto& b) { return a.start_s < b.start_s; });
  return std::move(heard_);
}

}  // namespace evenwall::internal::measure

namespace evenwall {

std::vector<RejectedStretch> rejected_stretches(AudioSource& source, const MeasureOptions& options) {
  using namespace internal::measure;
  ToneHearing hearing(source, options.rpm);
  scan(source, options.from_s, options.to_s, [&](const ScanFrame& frame, const OctaveFrame&) { hearing.add(frame); });
  return hearing.finish().rejected;
}

}  // namespace evenwall
