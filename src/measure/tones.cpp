#include "measure/tones.hpp"

#include <algorithm>

#include "measure/steadiness.hpp"

namespace evenwall {

HeardTones hear_tones(AudioSource& source, const Scan& found, double rpm) {
  HeardTones heard;
  for (const ToneStretch& stretch : find_tones(found, &heard.rejected)) {
    auto passage = listen(source, stretch, rpm);
    const std::string why = passage ? why_no_test_tone(*passage) : "too few frames of it can be used";
    if (why.empty()) {
      heard.passages.push_back(std::move(*passage));
    } else {
      heard.rejected.push_back(
          {stretch.start_s, stretch.end_s, stretch.frequency_hz, stretch.driven, why, passage ? passage->clipped_fraction : 0.0});
    }
  }
  std::sort(heard.rejected.begin(), heard.rejected.end(), [](const auto& a, const auto& b) { return a.start_s < b.start_s; });
  return heard;
}

std::vector<RejectedStretch> rejected_stretches(AudioSource& source, const MeasureOptions& options) {
  return hear_tones(source, scan(source, options.from_s, options.to_s), options.rpm).rejected;
}

}  // namespace evenwall
