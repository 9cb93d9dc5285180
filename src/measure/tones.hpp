// SPDX-License-Identifier: GPL-3.0-or-later
// Measures every test tone of a capture and lists the tone-like stretches that were rejected.
#pragma once

#include <vector>

#include "evenwall/measure.hpp"
#include "measure/listen.hpp"
#include "measure/passages.hpp"

namespace evenwall::internal::measure {

struct HeardTones {
  std::vector<HeardPassage> passages;  ///< in time order
  std::vector<RejectedStretch> rejected;
};

/// Measures each stretch that the scan finds as soon as its end is known. A source that decodes then still holds the stretch in memory.
class ToneHearing {
 public:
  ToneHearing(AudioSource& source, OptionalNumber rpm);
  /// Requires: frames of one scan, in time order.
  void add(const ScanFrame& frame);
  /// Measures the stretches in the remaining frames and returns all accepted passages and all rejected stretches.
  HeardTones finish();

 private:
  void listen_to_pending();

  AudioSource& source_;
  OptionalNumber rpm_;
  Scan pending_;  // tonal frames since the last stretch that was measured
  double last_tonal_s_ = 0;
  HeardTones heard_;
};

}  // namespace evenwall::internal::measure
