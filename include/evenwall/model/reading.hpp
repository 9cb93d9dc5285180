// SPDX-License-Identifier: GPL-3.0-or-later
// What was measured in one recording, and the calibration of the electronics.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "evenwall/model/passage.hpp"
#include "evenwall/model/session_facts.hpp"

namespace evenwall {

struct ReadingError {
  std::string code;
  std::string message;
};

struct Reading {
  std::string capture;
  OptionalNumber tilt_deg;
  OptionalNumber tilt_units;
  OptionalNumber tilt_u;  ///< standard uncertainty, unit of whichever tilt is given
  StepUse use = StepUse::kYes;
  std::optional<SessionFacts> session;
  AudioInfo audio;
  std::vector<Passage> passages;
  LeakPair crosstalk;                                               ///< at the chosen frequency
  std::vector<LeakPair> crosstalk_spectrum;                         ///< every frequency that any passage gives, ascending
  OptionalNumber balance_db, u_balance_db, interchannel_phase_deg;  ///< left over right; positive phase: left leads
  OptionalNumber rotation_deg, shear_db, warp_deg;  ///< turn, shear of both leaks; √(left² + right²) of rms lean in a turn
  Warnings warnings;
  std::optional<ReadingError> error;  ///< set: nothing else but `capture` and the tilt is
};

/// 2×2 complex matrix, row-major: rows output left, right; columns injected left, right.
using Matrix2 = std::array<Complex, 4>;

struct CalibrationPoint {
  double frequency_hz = 0;
  Matrix2 matrix{};                        ///< diagonal 1
  std::array<double, 2> u_off_diagonal{};  ///< of the complex off-diagonal elements [0][1] and [1][0], each part
};

struct Calibration {
  std::vector<CalibrationPoint> points;  ///< frequencies ascending
  Warnings warnings{};                   ///< of making it; not in the document
};

}  // namespace evenwall
