// SPDX-License-Identifier: GPL-3.0-or-later
// Writes many solutions as one line each: a table for people, or CSV.
#pragma once

#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// What one line shows of a solution.
struct SessionLine {
  std::string source;
  std::string cartridge;      ///< empty: not stated
  OptionalNumber set_to_deg;  ///< absent: no tilt is logged
  OptionalNumber u_deg;       ///< absent: no tilt is logged
  OptionalNumber set_to_units, u_units;
  OptionalNumber turn_deg, u_turn_deg, turn_units;
  OptionalNumber shim_mm;
  std::string shim_at;  ///< spindle_side, outer_side or empty
  std::string verdict;
  std::vector<std::string> warnings;  ///< codes, each once
};

SessionLine session_line_of(const std::string& source, const Solution& solution);

/// At most 80 columns; long names are shortened, and warnings are counted.
std::string sessions_table(const std::vector<SessionLine>& lines);

inline constexpr const char* kSessionsCsvHead =
    "source,cartridge,set_to_deg,u_deg,set_to_units,u_units,turn_deg,u_turn_deg,turn_units,shim_mm,shim_at,verdict,warnings\n";
std::string sessions_csv_line(const SessionLine& line);

}  // namespace evenwall::internal::app
