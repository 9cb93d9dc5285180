// SPDX-License-Identifier: GPL-3.0-or-later
// Every test tone of a capture, and what was taken for one at first sight and is none.
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

/// Listens to each stretch that the scan shows, as soon as its end is known: a source that decodes still has it at hand then.
class ToneHearing {
 public:
  ToneHearing(AudioSource& source, OptionalNumber rpm);
  /// Requires: frames of one scan, in time order.
  void add(const ScanFrame& frame);
  /// Listens to what is left, and gives all that held up.
  HeardTones finish();

 private:
  void listen_to_pending();

  AudioSource& source_;
  OptionalNumber rpm_;
  Scan pending_;  // frames since the last stretch that was listened to
  double last_tonal_s_ = 0;
  HeardTones heard_;
};

}  // namespace evenwall::internal::measure
