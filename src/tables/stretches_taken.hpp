// SPDX-License-Identifier: GPL-3.0-or-later
// Records which stretch of which capture the rows of a log use.
#pragma once

#include <map>
#include <optional>
#include <utility>

#include "evenwall/model.hpp"

namespace evenwall::internal::tables {

class StretchesTaken {
 public:
  /// Returns the line of an earlier row if its stretch overlaps the entry's; otherwise records the stretch. The same stretch may occur
  /// again at the same tilt or without a tilt: the session counts a recording once for each use. Cost: log n. Captures are held as hashes,
  /// because names may be long.
  std::optional<int> take(const LogEntry& entry, int line);

 private:
  struct Rest {
    double to_s;
    int line;
    OptionalNumber tilt_deg, tilt_units;
  };
  static bool is_repeated(const Rest& a, const Rest& b);
  std::map<std::pair<std::size_t, double>, Rest> stretches_;  // by capture and start
};

}  // namespace evenwall::internal::tables
