// SPDX-License-Identifier: GPL-3.0-or-later
// A step: what the log says and what was measured in the recording. The calibration of the electronics.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "evenwall/model/passage.hpp"
#include "evenwall/model/session_facts.hpp"

namespace evenwall {

/// What the log says of a step.
struct LogEntry {
  std::string capture{};
  OptionalNumber tilt_deg{};
  OptionalNumber tilt_units{};
  OptionalNumber tilt_u{};  ///< standard uncertainty, unit of whichever tilt is given
  StepUse use = StepUse::kYes;
  OptionalNumber from_s{}, to_s{};  ///< stretch of the capture; not given: all of it
  bool leads_swapped = false;
  OptionalNumber sequence{};
  std::optional<std::string> approach{};  ///< "up" or "down"
  std::string note{};
};

/// What was measured in one recording, or read from a meter.
struct Measurement {
  AudioInfo audio;  ///< of a meter's row: nothing
  std::vector<Passage> passages;
  LeakPair crosstalk;                                               ///< at the chosen frequency
  std::vector<LeakPair> crosstalk_spectrum;                         ///< every frequency that any passage gives, ascending
  OptionalNumber balance_db, u_balance_db, interchannel_phase_deg;  ///< left over right; positive phase: left leads
  OptionalNumber rotation_deg, shear_db, warp_deg;  ///< turn, shear of both leaks; √(left² + right²) of rms lean in a turn
  bool phases_measured = true;                      ///< false: a meter's sizes only, same_passage.value then real and positive
  Warnings warnings;
};

/// Why there is no measurement.
enum class ReadingFault {
  kNoAnswer,        ///< the capture was read, and nothing could be measured in it
  kUnreadable,      ///< the capture
  kStepUnreadable,  ///< the row of a log, the line of a file of readings
  kSameRecording,   ///< the audio is that of a step at another tilt
};

struct ReadingError {
  ReadingFault code = ReadingFault::kUnreadable;
  std::string message;
};

/// A step of a session: what the log says, and what was measured at it or why nothing was.
struct Step {
  LogEntry log;
  std::variant<Measurement, ReadingError> result;

  /// Null where there is an error.
  [[nodiscard]] const Measurement* measurement() const { return std::get_if<Measurement>(&result); }
  /// Null where there is a measurement.
  [[nodiscard]] const ReadingError* error() const { return std::get_if<ReadingError>(&result); }
};

/// A step by itself, with the facts of its session: what `measure` writes of a capture.
struct Reading {
  Step step;
  std::optional<SessionFacts> session;
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
