// SPDX-License-Identifier: GPL-3.0-or-later
// What `solve` reports about a session.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model/session.hpp"

namespace evenwall {

enum class Basis { kEqualCrosstalk, kLeastCrosstalk };
enum class Scope { kThisRecord, kAnyRecord };
enum class Sense { kAsLogged, kReversed, kUndecided };
enum class BalanceSource { kLevels, kTiltResponse, kBoth };
enum class Side { kSpindleSide, kOuterSide };

struct Recommended {
  double tilt_deg = 0;
  double u_deg = 0;  ///< standard uncertainty of tilt_deg
  Interval interval95_deg{};
  OptionalNumber degrees_of_freedom;  ///< of u_deg; none: as good as unlimited
  OptionalNumber tilt_units;          ///< the number to set on the gauge of the log; none: the steps do not bound it
  OptionalNumber u_units{};           ///< its standard uncertainty, in the log's unit; free of the gauge's zero
  std::optional<Interval> interval95_units{};
  Basis basis = Basis::kLeastCrosstalk;
  double right_into_left_db = 0;  ///< expected at tilt_deg
  double left_into_right_db = 0;
  Scope scope = Scope::kThisRecord;
  std::string why;  ///< for people
};

/// Equal crosstalk or phase match (crosstalk_db: equal crosstalk only).
struct Criterion {
  bool determined = false;  ///< false: why says what is missing, and there may be no tilt
  OptionalNumber tilt_deg;
  OptionalNumber u_deg;
  std::optional<Interval> interval95_deg;
  OptionalNumber crosstalk_db;  ///< both ways, at tilt_deg
  std::optional<std::string> why;
};

struct LeastCrosstalk {
  double tilt_deg = 0;
  double u_deg = 0;
  Interval interval95_deg{};
  double right_into_left_db = 0;  ///< expected at tilt_deg
  double left_into_right_db = 0;
};

struct Balance {
  OptionalNumber from_levels_db, u_from_levels_db, from_tilt_response_db, u_from_tilt_response_db;  ///< positive: left louder
  BalanceSource used = BalanceSource::kLevels;
  OptionalNumber interchannel_phase_deg;  ///< positive: left leads
  OptionalNumber slope_db_per_deg;        ///< of the balance over the tilt
  /// What the preamplifier has in it and what is the cartridge's own: where steps with swapped leads part them.
  OptionalNumber preamplifier_db, u_preamplifier_db, cartridge_db, u_cartridge_db;
};

struct TiltResponse {
  double degrees_per_unit = 1;  ///< by the signal; of the log's unit
  double u_degrees_per_unit = 0;
  Sense sense = Sense::kAsLogged;  ///< whether higher numbers of the log turn clockwise
};

struct NotCorrectable {
  double least_rms_crosstalk_db = 0;  ///< rms of both ways where it is least
  OptionalNumber shear_db;
  OptionalNumber rotation_quadrature_deg;  ///< none: no phases were measured
};

/// What is odd about a step.
enum class StepFlag {
  kStepOff,      ///< logged wrongly
  kPossiblyOff,  ///< perhaps so
  kLeaksOff,     ///< its leaks differ from those of the other steps; excluded from the fit
};

struct SolvedStep {
  std::string capture;
  double tilt_deg = 0;  ///< logged (tilt_units: times the solved scale)
  OptionalNumber tilt_units;
  double tilt_from_signal_deg = 0;  ///< what the leaks say
  double audit_deg = 0;             ///< tilt by the signal minus tilt logged
  double u_audit_deg = 0;
  bool used = true;  ///< in the fit
  std::vector<StepFlag> flags;
  double right_into_left_db = 0;
  double left_into_right_db = 0;
  OptionalNumber right_into_left_phase_deg;  ///< none: no phases were measured
  OptionalNumber left_into_right_phase_deg;
  OptionalNumber balance_db;                 ///< left over right
  OptionalNumber distortion_left_percent{};  ///< of the left channel's own tones; none: no tone was heard there
  OptionalNumber distortion_right_percent{};
};

struct Curves {
  std::vector<double> tilt_deg, right_into_left_db, left_into_right_db;        ///< all of one size, tilts ascending
  std::vector<Interval> right_into_left_band95_db, left_into_right_band95_db;  ///< a low end of −120 dB: a null lies in it
};

struct FrequencyResult {
  double frequency_hz = 0;
  OptionalNumber equal_crosstalk_deg, u_equal_crosstalk_deg;
  double least_crosstalk_deg = 0;
  double u_least_crosstalk_deg = 0;
  OptionalNumber right_into_left_db{};  ///< at the recommended tilt
  OptionalNumber left_into_right_db{};
};

struct AsFound {
  std::string capture;
  double right_into_left_db = 0;
  double left_into_right_db = 0;
  OptionalNumber balance_db;
};

struct Verification {
  std::string capture;
  double tilt_deg = 0;
  double right_into_left_db = 0;  ///< as captured
  double left_into_right_db = 0;
  double predicted_right_into_left_db = 0;
  double predicted_left_into_right_db = 0;
  Interval interval95_right_into_left_db{};
  Interval interval95_left_into_right_db{};
  bool agrees = true;  ///< both levels lie in their intervals
};

struct Contact {
  OptionalNumber limit_deg;  ///< to either side of the stylus's upright_at_deg
  std::optional<bool> inside;
  OptionalNumber best_inside_deg;  ///< the tilt within the limit that is nearest to the recommended one
};

struct Shim {
  double from_tilt_deg = 0;           ///< where the move starts
  double move_deg = 0;                ///< recommended tilt minus from_tilt_deg
  OptionalNumber height_mm;           ///< over the span between the screws
  std::optional<Side> raises;         ///< side of the cartridge that goes up; none: which way the log counts is open
  std::optional<Side> place_shim_at;  ///< screw that the shim goes under: it lowers the side it is at
};

/// How settings come back: steps that share one, held against each other by the signal's tilts.
struct Repeatability {
  double u_deg = 0;  ///< of one setting, signal included
  double degrees_of_freedom = 0;
  OptionalNumber lack_of_fit_p;  ///< of the settings' means about one line (F test); none with fewer than three settings
};

struct UncertaintyTerm {
  std::string source;
  double u_deg = 0;                   ///< its share of the recommended tilt's; the squares add up
  OptionalNumber degrees_of_freedom;  ///< none: as good as unlimited
  bool common = false;                ///< the same at every step, so that more steps don't lessen it
};

struct NextStep {
  double tilt_deg = 0;  ///< where one more capture reduces the uncertainty most
  std::string why;
  double u_deg_after = 0;  ///< of the recommended tilt, with that capture
};

/// What a survey knows of the record that a session was captured on.
struct RecordCorrection {
  std::string survey;        ///< the document
  std::string record;        ///< record and side, as there
  double cut_error_deg = 0;  ///< taken out of every answer
  double u_deg = 0;          ///< of the cut error and of the records' mean that it is relative to; enlarged as few records ask for
};

/// What the user asked for on the command line (or the caller of the library); it wins over session.json.
struct SolveOptions {
  OptionalNumber frequency_hz, gauge_u_deg, gauge_zero_u_deg, record_u_deg, tilt_limit_deg, from_tilt_deg;
  std::optional<Calibration> calibration;
  std::optional<std::string> calibration_path;
  std::optional<RecordCorrection> record_correction;  ///< stands in for record_u_deg
};

/// Which program, and by which method, made a document.
struct MadeBy {
  std::string program;
  std::string version;
  int method_version = 0;
};

struct Solution {
  SessionFacts session;
  double frequency_hz = 0;
  SolveOptions options;
  Recommended recommended;
  Criterion equal_crosstalk;
  LeastCrosstalk least_crosstalk;
  Criterion phase_match;
  Balance balance;
  TiltResponse tilt_response;
  NotCorrectable not_correctable;
  std::vector<SolvedStep> steps;
  Curves curves;
  std::vector<FrequencyResult> by_frequency;
  std::optional<AsFound> as_found;
  std::vector<Verification> verification;
  Contact contact;
  Shim shim;
  std::vector<UncertaintyTerm> uncertainty;
  std::optional<Repeatability> repeatability;  ///< where settings were repeated
  std::optional<NextStep> next_step;
  Warnings warnings;
  std::optional<MadeBy> made_by{};  ///< of a document read back; one that is written for the first time is made by this program
};

}  // namespace evenwall
