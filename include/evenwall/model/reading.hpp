// SPDX-License-Identifier: GPL-3.0-or-later
// Holds a step (its log entry and the measurement of its recording) and the calibration of the electronics.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "evenwall/model/passage.hpp"
#include "evenwall/model/session_facts.hpp"

namespace evenwall {

/// The log's entry for a step.
struct LogEntry {
  std::string capture{};
  OptionalNumber tilt_deg{};
  OptionalNumber tilt_units{};
  OptionalNumber tilt_u{};  ///< standard uncertainty, in the unit of the tilt that is given
  StepUse use = StepUse::kYes;
  OptionalNumber from_s{}, to_s{};  ///< stretch of the capture; absent: the whole capture
  bool leads_swapped = false;
  OptionalNumber sequence{};
  std::optional<std::string> approach{};  ///< "up" or "down"
  std::string note{};
};

/// What was measured in one recording, or read from a meter.
struct Measurement {
  AudioInfo audio;  ///< empty for a row of a meter table
  std::vector<Passage> passages;
  LeakPair crosstalk;                                               ///< at the chosen frequency
  std::vector<LeakPair> crosstalk_spectrum;                         ///< at every frequency that a passage provides, ascending
  OptionalNumber balance_db, u_balance_db, interchannel_phase_deg;  ///< left over right; positive phase: left leads
  OptionalNumber rotation_deg, shear_db, warp_deg;  ///< rotation, shear of both directions; √(left² + right²) of rms lean in a turn
  OptionalNumber pitch_wander_percent;              ///< median over the tones, in percent of their frequency; not written to documents
  bool phases_measured = true;                      ///< false: only a meter's magnitudes exist, and same_passage.value is real and positive
  bool order_known = true;  ///< false: left-only and right-only passages are of two recordings, so their order shows nothing; not written
  Warnings warnings;
};

/// The reason why a step has no measurement.
enum class ReadingFault {
  kNoAnswer,        ///< the capture was read, but nothing could be measured in it
  kUnreadable,      ///< the capture cannot be read
  kStepUnreadable,  ///< the row of a log or the line of a file of readings cannot be used
  kSameRecording,   ///< the audio is that of another step, logged at another tilt or with other leads
};

struct ReadingError {
  ReadingFault code = ReadingFault::kUnreadable;
  std::string message;
};

/// A step of a session: its log entry, and either its measurement or the reason why there is none.
struct Step {
  LogEntry log;
  std::variant<Measurement, ReadingError> result;

  /// Null if there is an error.
  [[nodiscard]] const Measurement* measurement() const { return std::get_if<Measurement>(&result); }
  /// Null if there is a measurement.
  [[nodiscard]] const ReadingError* error() const { return std::get_if<ReadingError>(&result); }
};

/// A single step with the facts of its session, as `measure` writes it for a capture.
struct Reading {
  Step step;
  std::optional<SessionFacts> session;
};

/// 2×2 complex matrix, row-major: rows output left, right; columns injected left, right.
using Matrix2 = std::array<Complex, 4>;

struct CalibrationPoint {
  double frequency_hz = 0;
  Matrix2 matrix{};                        ///< diagonal 1
  std::array<double, 2> u_off_diagonal{};  ///< standard uncertainty of each part (real, imaginary) of the elements [0][1] and [1][0]
};

struct Calibration {
  std::vector<CalibrationPoint> points;  ///< frequencies ascending
  Warnings warnings{};                   ///< from computing the calibration; not in the document
};

}  // namespace evenwall
