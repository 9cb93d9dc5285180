// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the result that `solve` reports for a session.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model/band.hpp"
#include "evenwall/model/session.hpp"

namespace evenwall {

enum class Basis { kEqualCrosstalk, kLeastCrosstalk, kPhaseMatch, kBandLeast, kBetween };
/// The records for which the recommended tilt holds. If no step has a logged tilt, the recommended tilt is a turn from the position of the
/// cartridge in one recording.
enum class Scope { kThisRecord, kAnyRecord, kTurnOnThisRecord, kTurnOnAnyRecord };
enum class Sense { kAsLogged, kReversed, kUndecided };
enum class BalanceSource { kLevels, kTiltResponse, kBoth };
enum class Side { kSpindleSide, kOuterSide };
enum class TurnFrom { kLast, kVerify, kStated };
enum class TurnDirection { kClockwise, kAnticlockwise, kNone };
enum class VerdictState { kEnough, kTurn, kCaptureMore, kCheck };
enum class CorrectedCause { kElectronics, kChannelsSwapped, kPolarity, kRecord };

struct Recommended {
  double tilt_deg = 0;
  double u_deg = 0;  ///< standard uncertainty of tilt_deg
  Interval interval95_deg{};
  OptionalNumber degrees_of_freedom;  ///< of u_deg; absent: practically infinite
  OptionalNumber tilt_units;          ///< the number to set on the log's gauge; absent: the steps do not bound it
  OptionalNumber u_units{};           ///< its standard uncertainty, in the log's unit, without that of the gauge's zero
  std::optional<Interval> interval95_units{};
  Basis basis = Basis::kLeastCrosstalk;
  double right_into_left_db = 0;  ///< expected at tilt_deg
  double left_into_right_db = 0;
  Scope scope = Scope::kThisRecord;
  std::string why;  ///< for people
  /// If the basis is kBetween: the azimuth is least + towards_equal · (equal − least) at the session's frequency, and from there on the way
  /// to the band's least crosstalk by the share towards_band. Otherwise absent.
  OptionalNumber towards_equal{}, towards_band{};
  /// The recording from which all tilts of the solution count, if no step has a logged tilt. Absent: they count from the zero of the log.
  std::optional<std::string> from_capture{};
};

/// Equal crosstalk or phase match (crosstalk_db: equal crosstalk only).
struct Criterion {
  bool determined = false;  ///< false: `why` states what is missing, and the tilt may be absent
  OptionalNumber tilt_deg;
  OptionalNumber u_deg;
  std::optional<Interval> interval95_deg;
  OptionalNumber crosstalk_db;  ///< in both directions, at tilt_deg
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
  OptionalNumber slope_db_per_deg;        ///< change of the balance with the tilt
  /// The preamplifier's and the cartridge's own share of the balance, if steps with swapped leads separate them.
  OptionalNumber preamplifier_db, u_preamplifier_db, cartridge_db, u_cartridge_db;
};

struct TiltResponse {
  double degrees_per_unit = 1;  ///< from the signal, per unit of the log
  double u_degrees_per_unit = 0;
  Sense sense = Sense::kAsLogged;  ///< as logged: higher numbers in the log mean clockwise
};

struct NotCorrectable {
  double least_rms_crosstalk_db = 0;  ///< rms of both directions at its minimum
  OptionalNumber shear_db;
  OptionalNumber rotation_quadrature_deg;  ///< absent: no phases were measured
};

/// The reason why a step is flagged.
enum class StepFlag {
  kStepOff,      ///< its tilt was logged wrongly
  kPossiblyOff,  ///< its tilt was possibly logged wrongly
  kLeaksOff,     ///< its crosstalk contradicts the other steps; it is excluded from the fit
};

struct SolvedStep {
  std::string capture;
  double tilt_deg = 0;  ///< as logged (tilt_units: times the solved scale); as the crosstalk determines it, if no tilt is logged
  OptionalNumber tilt_units;
  OptionalNumber logged{};          ///< the number of the log, with its sign and in its unit
  double tilt_from_signal_deg = 0;  ///< as the crosstalk determines it
  OptionalNumber audit_deg;         ///< correction to the logged azimuth: signal minus log; absent: no tilt is logged
  double u_audit_deg = 0;           ///< its standard uncertainty; that of tilt_deg, if no tilt is logged
  bool used = true;                 ///< whether the step is fitted
  std::vector<StepFlag> flags;
  double right_into_left_db = 0;
  double left_into_right_db = 0;
  OptionalNumber right_into_left_phase_deg;  ///< absent: no phases were measured
  OptionalNumber left_into_right_phase_deg;
  OptionalNumber balance_db;                 ///< left over right
  OptionalNumber distortion_left_percent{};  ///< of the left channel's own tones; absent: it had no tone
  OptionalNumber distortion_right_percent{};
  std::optional<std::string> audio_sha256{};  ///< AudioInfo::sha256 of its recording; absent: not requested
  OptionalNumber from_s{}, to_s{};            ///< LogEntry::from_s, to_s
};

struct Curves {
  std::vector<double> tilt_deg, right_into_left_db, left_into_right_db;        ///< all of equal length, tilts ascending
  std::vector<Interval> right_into_left_band95_db, left_into_right_band95_db;  ///< a low end of −120 dB: the band includes a null
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
  std::optional<std::string> audio_sha256{};  ///< as in SolvedStep; a recording without a tilt is not one of the steps
  OptionalNumber from_s{}, to_s{};            ///< as in SolvedStep
};

struct Verification {
  std::string capture;
  double tilt_deg = 0;
  double right_into_left_db = 0;  ///< as measured in the capture
  double left_into_right_db = 0;
  double predicted_right_into_left_db = 0;
  double predicted_left_into_right_db = 0;
  Interval interval95_right_into_left_db{};
  Interval interval95_left_into_right_db{};
  bool agrees = true;               ///< whether both levels lie in their intervals
  OptionalNumber from_s{}, to_s{};  ///< as in SolvedStep
};

struct Contact {
  OptionalNumber limit_deg;  ///< to either side of the stylus's upright_at_deg
  std::optional<bool> inside;
  OptionalNumber best_inside_deg;  ///< the tilt within the limit that is nearest to the recommended one
};

struct Shim {
  double from_tilt_deg = 0;    ///< tilt at which the move starts
  double move_deg = 0;         ///< recommended tilt minus from_tilt_deg
  OptionalNumber height_mm;    ///< over the span between the screws
  std::optional<Side> raises;  ///< side of the cartridge that goes up; absent: the log's direction is undecided, or no move is needed
  std::optional<Side> place_shim_at;  ///< screw under which the shim goes; it lowers that side
};

/// The turn that remains: from the state in which a recording shows the cartridge to the recommended azimuth. The crosstalk alone
/// determines it, so no uncertainty of the gauge is in it, unless the user stated the present azimuth.
struct Now {
  std::optional<std::string> capture;  ///< absent: the azimuth is stated
  TurnFrom from = TurnFrom::kLast;
  double turn_deg = 0;  ///< positive: clockwise seen from the front, unless the sense is undecided
  double u_deg = 0;     ///< standard uncertainty
  Interval interval95_deg{};
  OptionalNumber turn_units, u_turn_units;  ///< for a log in user units: the change of the number in the log
  std::optional<TurnDirection> direction;   ///< absent: the log's sense is undecided
  OptionalNumber height_mm;                 ///< of a shim that makes this turn
  std::optional<Side> place_shim_at;        ///< screw at which it sits
  OptionalNumber from_s{}, to_s{};          ///< of `capture`, as in SolvedStep
};

/// The numbers to set: on a gauge in degrees the azimuth that it then shows, otherwise the true azimuth and the number in the log's unit.
struct SetTo {
  double tilt_deg = 0;
  double u_deg = 0;
  Interval interval95_deg{};
  OptionalNumber tilt_units, u_tilt_units;
  std::optional<Interval> interval95_units;
  /// No step has a logged tilt: tilt_deg is the turn from the position in this recording. Absent: tilt_deg counts from the zero of the log.
  std::optional<std::string> from_capture{};
};

/// Whether the work is done, and what comes next.
struct Verdict {
  VerdictState state = VerdictState::kCaptureMore;
  double tolerance_deg = 0;
  std::string text;  ///< for people
};

/// A known effect that the program removed before the fit.
struct Correction {
  CorrectedCause what = CorrectedCause::kElectronics;
  std::vector<std::string> applies_to;  ///< captures, in the order of the session
  std::string from;                     ///< the file or key that shows it
  std::string text;                     ///< for people
};

/// Repeatability of a setting, from the tilts that the signal gives for steps with the same setting.
struct Repeatability {
  double u_deg = 0;  ///< of one setting, including the signal's uncertainty
  double degrees_of_freedom = 0;
  OptionalNumber lack_of_fit_p;  ///< F test of the settings' means about one line; absent for fewer than three settings
};

struct UncertaintyTerm {
  std::string source;
  double u_deg = 0;                   ///< its share of the recommended tilt's uncertainty; the squares add up
  OptionalNumber degrees_of_freedom;  ///< absent: practically infinite
  bool common = false;                ///< the same at every step, so that more steps do not reduce it
};

struct NextStep {
  double tilt_deg = 0;  ///< tilt at which one more capture reduces the uncertainty most
  std::string why;
  double u_deg_after = 0;  ///< of the recommended tilt, with that capture
};

/// A survey's result for the record side on which a session was captured.
struct RecordCorrection {
  std::string survey;        ///< name of the document
  std::string record;        ///< record and side, as in the survey
  double cut_error_deg = 0;  ///< subtracted from every tilt that is an answer
  double u_deg = 0;          ///< of the cut error and of the records' mean, to which it is relative; enlarged for few degrees of freedom
};

/// Options from the command line (or from the caller of the library). They take precedence over session.json.
struct SolveOptions {
  OptionalNumber frequency_hz, gauge_u_deg, gauge_zero_u_deg, record_u_deg, tilt_limit_deg, from_tilt_deg;
  OptionalNumber tolerance_deg;          ///< within which the azimuth is good enough (0.05)
  std::optional<Aim> aim{};              ///< the criterion to meet; absent: by the rule of docs/method.md
  std::optional<BandLimits> band{};      ///< frequencies that count for the band; absent: all that were measured
  std::optional<Weighting> weighting{};  ///< of the band's frequencies (flat)
  std::optional<Calibration> calibration;
  std::optional<std::string> calibration_path;
  std::optional<RecordCorrection> record_correction;  ///< replaces record_u_deg
};

/// The program and the version of its method that made a document.
struct MadeBy {
  std::string program;
  std::string version;
  int method_version = 0;
};

struct Solution {
  std::optional<std::string> source{};  ///< the input as it was named
  SessionFacts session;
  double frequency_hz = 0;
  SolveOptions options;
  std::optional<Now> now;          ///< absent: the crosstalk does not bound the turn
  std::optional<SetTo> set_to;     ///< present in each new solution
  std::optional<Verdict> verdict;  ///< present in each new solution
  std::vector<Correction> corrections;
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
  std::optional<BandResult> band;  ///< absent: the measured frequencies span less than an octave
  std::vector<TradeOffRow> trade_off;
  std::optional<NearestSetting> nearest_setting;  ///< absent: the session states no settings, or the number to set is not known
  std::optional<AsFound> as_found;
  std::vector<Verification> verification;
  Contact contact;
  Shim shim;
  std::vector<UncertaintyTerm> uncertainty;
  std::optional<Repeatability> repeatability;  ///< present if settings were repeated
  std::optional<NextStep> next_step;
  Warnings warnings;
  std::optional<MadeBy> made_by{};  ///< set in a document read back; absent: this program made the solution
};

}  // namespace evenwall
