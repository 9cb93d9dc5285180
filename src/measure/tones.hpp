// Every test tone of a capture, and what was taken for one at first sight and is none.
#pragma once

#include <vector>

#include "evenwall/measure.hpp"
#include "measure/listen.hpp"
#include "measure/passages.hpp"

namespace evenwall {

struct HeardTones {
  std::vector<HeardPassage> passages;  ///< in time order
  std::vector<RejectedStretch> rejected;
};

/// Listens to each stretch that the scan shows, and keeps what holds up.
HeardTones hear_tones(AudioSource& source, const Scan& found, double rpm);

}  // namespace evenwall
