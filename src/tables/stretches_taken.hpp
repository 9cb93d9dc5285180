// SPDX-License-Identifier: GPL-3.0-or-later
// Which stretch of which capture the rows of a log have taken.
#pragma once

#include <map>
#include <optional>
#include <utility>

#include "evenwall/model.hpp"

namespace evenwall::internal::tables {

class StretchesTaken {
 public:
  /// Returns the line of an earlier row whose stretch overlaps the entry's, if there is one; else the stretch is taken. The same stretch at
  /// the same tilt may come again: the session counts a recording once for each use. Cost: log n. Captures are held as hashes, for names
  /// may be long.
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
