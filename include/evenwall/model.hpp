// SPDX-License-Identifier: GPL-3.0-or-later
// The whole data flow as structs, in pipeline order: audio -> passages -> leaks -> reading -> solution -> survey.
//
// Names are the JSON keys (docs/formats.md). Tilt is positive clockwise seen from the front of the cartridge. Degrees, decibels, hertz
// and seconds as the names say; u_… is a standard uncertainty; interval95 is {low, high}. An absent value is std::nullopt, never 0 or NaN.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "evenwall/units.hpp"

namespace evenwall {

using OptionalNumber = std::optional<double>;
using Interval = std::array<double, 2>;

struct Warning {
  std::string code;
  std::string message;
};
using Warnings = std::vector<Warning>;

// ---------------------------------------------------------------- audio

struct AudioInfo {
  double sample_rate_hz = 0;
  int channels = 2;
  double duration_s = 0;  ///< as declared; replaced by what was read once the analysis has read it
  std::string encoding;   ///< for people: "WAV PCM 24-bit"
};

/// Stereo audio as interleaved floats (left first, full scale 1.0), read by position so that a long capture never sits in memory whole.
class AudioSource {
 public:
  AudioSource() = default;
  AudioSource(const AudioSource&) = delete;
  AudioSource& operator=(const AudioSource&) = delete;
  virtual ~AudioSource() = default;

  [[nodiscard]] virtual const AudioInfo& info() const = 0;
  /// Number of stereo frames.
  [[nodiscard]] virtual std::int64_t frames() const = 0;
  /// Reads up to `count` frames from `first` on into out[0 .. 2·count). Returns the frames read; fewer than asked only at the end.
  /// Reading forward is cheap, reading backward may not be. Throws: Error(kInput) where the medium fails.
  virtual std::int64_t read(std::int64_t first, std::int64_t count, float* out) = 0;
};

// ---------------------------------------------------------------- passages and leaks

enum class PassageKind { kTone, kSweep, kNoise };
enum class Driven { kLeft, kRight, kBoth };
enum class Relation { kInPhase, kAntiphase };

struct Passage {
  PassageKind kind = PassageKind::kTone;
  Driven driven = Driven::kBoth;     ///< the channel whose groove wall is cut; the other one hears the leak
  std::optional<Relation> relation;  ///< of a both-channel passage only
  double start_s = 0;
  double end_s = 0;
  OptionalNumber frequency_hz;       ///< tone
  OptionalNumber frequency_from_hz;  ///< sweep
  OptionalNumber frequency_to_hz;
  double level_left_dbfs = 0;  ///< rms of the tone, 0 dBFS = rms of a full-scale sine
  double level_right_dbfs = 0;
  double snr_db = 0;                  ///< of the driven channel: tone, sweep or noise over everything else
  OptionalNumber distortion_percent;  ///< 2nd and 3rd harmonic of the driven channel
  OptionalNumber wow_percent;         ///< once-per-revolution speed variation, peak
};

/// A stretch that sounds like a tone at first sight, and why it is no passage.
struct RejectedStretch {
  double start_s = 0;
  double end_s = 0;
  double frequency_hz = 0;
  Driven driven = Driven::kBoth;
  std::string why;              ///< for people
  double clipped_fraction = 0;  ///< of its samples, where it was listened to
};

/// A complex ratio with the covariance of its real and imaginary part.
struct ComplexEstimate {
  Complex value;
  double u_re = 0;
  double u_im = 0;
  double correlation = 0;  ///< of the real and imaginary part
};

struct Leak {
  OptionalNumber db;         ///< gain-free by levels, as re and im
  OptionalNumber phase_deg;  ///< of re and im; positive: the leak leads the channel it came from
  OptionalNumber re;
  OptionalNumber im;
  ComplexEstimate same_passage;  ///< quiet over driven channel, as seen
  OptionalNumber u_re;
  OptionalNumber u_im;
  OptionalNumber band_db;  ///< what a one-third-octave meter would read, quiet over driven channel
};

struct LeakPair {
  double frequency_hz = 0;
  std::optional<Leak> right_into_left;  ///< what the left channel hears of a right-only passage
  std::optional<Leak> left_into_right;  ///< what the right channel hears of a left-only passage
};

// ---------------------------------------------------------------- the session and the step

enum class Band { kLeft, kRight, kLateral, kVertical };
enum class StepUse { kYes, kNo, kVerify, kAsFound };

struct Stylus {
  std::optional<std::string> profile;  ///< for people
  OptionalNumber major_radius_um;
  OptionalNumber tilt_limit_deg;  ///< most tilt to either side of upright_at_deg
  OptionalNumber upright_at_deg;  ///< tilt at which the stylus stands upright in the groove (0)

  bool operator==(const Stylus&) const = default;
};

/// session.json, as given: every key optional.
struct SessionFacts {
  std::optional<std::string> cartridge, record, record_side, rig, operator_name /* JSON key: operator */, date;
  std::optional<Stylus> stylus;
  std::vector<Band> bands;  ///< order on the record; empty where not given
  OptionalNumber gauge_u_deg, gauge_zero_u_deg, gauge_scale_u, record_u_deg;
  OptionalNumber cut_level_difference_db;  ///< left-only over right-only band as cut
  OptionalNumber cut_level_u_db;
  OptionalNumber electronics_crosstalk_db;  ///< of preamplifier and recorder, where no calibration takes it out
  OptionalNumber hole_spacing_mm, shim_span_mm, frequency_hz, rpm;
  std::optional<std::string> calibration;
  std::map<std::string, std::string> other_texts;  ///< unknown keys with a text value: warned of, kept for grouping
};

// ---------------------------------------------------------------- reading

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

/// A step as the log has it, beside what was measured at it.
struct Step {
  Reading reading;
  OptionalNumber from_s, to_s;
  bool leads_swapped = false;
  bool phases_measured = true;  ///< false: a meter's sizes only, same_passage.value then real and positive
  OptionalNumber sequence;
  std::optional<std::string> approach;  ///< "up" or "down"
  std::string note;
};

/// What `solve` takes: one session.
struct Session {
  SessionFacts facts;
  std::vector<Step> steps;
  Warnings warnings;  ///< from reading the log and the session file
};

// ---------------------------------------------------------------- solution

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
  OptionalNumber tilt_units;          ///< the same tilt on the ruler of the log
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

struct SolvedStep {
  std::string capture;
  double tilt_deg = 0;  ///< logged (tilt_units: times the solved scale)
  OptionalNumber tilt_units;
  double tilt_from_signal_deg = 0;  ///< what the leaks say
  double audit_deg = 0;             ///< tilt by the signal minus tilt logged
  double u_audit_deg = 0;
  bool used = true;  ///< in the fit
  std::vector<std::string> flags;
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
  double tilt_deg = 0;  ///< where one more capture tells most
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

// ---------------------------------------------------------------- survey

/// What a survey takes of a solution.
struct ArchivedSolution {
  std::string name;  ///< of the document, for people
  std::optional<std::string> cartridge, record, record_side, date;
  std::optional<std::string> group;  ///< the session's text under the key that the survey groups by
  double least_crosstalk_deg = 0;    ///< as captured: a record correction that `solve` took out is put back
  OptionalNumber u_least_crosstalk_deg, equal_crosstalk_deg;
};

/// Standard deviations of one cartridge, one record side, one session about what the others lead to expect. Absent where the archive
/// can't tell it from another (a warning says why).
struct SurveySpread {
  OptionalNumber cartridge, record, residual;
};

/// Equal-crosstalk tilts are not additive: they stand beside, as found on each record.
struct EqualCrosstalkOnRecord {
  std::optional<std::string> record;
  double tilt_deg = 0;
};

/// A cartridge's tilt on a truly cut record, shrunk towards the mean as far as its few sessions deserve.
struct SurveyedCartridge {
  std::string name;
  double tilt_deg = 0;
  OptionalNumber u_deg, degrees_of_freedom;
  std::optional<Interval> interval95_deg;
  int solutions = 0;
  std::vector<EqualCrosstalkOnRecord> equal_crosstalk;
};

/// A record side's cut: sessions on it find tilts that are too high by this, relative to the mean of the records.
struct SurveyedRecord {
  std::string name;    ///< record and side, for people
  std::string record;  ///< with `record_side` as the sessions have it
  std::optional<std::string> record_side;
  OptionalNumber cut_error_deg, u_deg, degrees_of_freedom;  ///< absent where there is one record only
  std::optional<Interval> interval95_deg;
  int solutions = 0;
  int part = 1;  ///< records of different parts share no cartridge, not even by way of others
};

/// Straight line of the tilts over time, cartridges and records allowed for.
struct SurveyDrift {
  double deg_per_year = 0;
  double u_deg_per_year = 0;
  Interval interval95_deg_per_year{};
  double degrees_of_freedom = 0;
  double p_value = 1;  ///< two-sided, of no drift
  int solutions = 0;   ///< those that have a date
  std::string first_date, last_date;
};

/// The cartridges of one group, by the cut errors of the whole archive.
struct SurveyedGroup {
  std::string name;
  double mean_deg = 0;
  OptionalNumber u_mean_deg;
  std::optional<Interval> interval95_mean_deg;
  OptionalNumber spread_cartridge_deg;
  int cartridges = 0;
  int solutions = 0;
};

/// A solution that the others contradict: kept out, and held against what they lead to expect.
struct BadSolution {
  std::string solution, cartridge, record;
  double tilt_deg = 0;  ///< least crosstalk, as found
  double expected_deg = 0;
  double standardised_residual = 0;  ///< in standard deviations of what the others lead to expect
};

struct Survey {
  double mean_deg = 0;
  OptionalNumber u_mean_deg, mean_degrees_of_freedom;  ///< absent where there is nothing to tell it from
  std::optional<Interval> interval95_mean_deg;
  SurveySpread spread_deg;
  OptionalNumber u_records_mean_deg;          ///< how far the records' mean may lie from a true cut: spread over root of the records
  int solutions = 0;                          ///< that the fit rests on
  std::vector<SurveyedCartridge> cartridges;  ///< by name
  std::vector<SurveyedRecord> records;        ///< by name
  std::optional<SurveyDrift> drift;           ///< absent without three dates that differ
  std::optional<std::string> grouped_by;
  std::vector<SurveyedGroup> groups;
  std::vector<BadSolution> bad_solutions;
  Warnings warnings;
  std::optional<MadeBy> made_by{};  ///< of a document read back
};

}  // namespace evenwall
