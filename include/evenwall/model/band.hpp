// SPDX-License-Identifier: GPL-3.0-or-later
// Holds what a solution states about a whole frequency band, what each choice of the azimuth costs, and what an adjuster can reach.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/units.hpp"

namespace evenwall {

/// How the frequencies of a band are weighted: each measured frequency alike, or by the A-weighting of IEC 61672-1.
enum class Weighting { kFlat, kA };
/// The criterion that the recommended azimuth is to meet.
enum class Aim { kEqual, kLeast, kPhase, kBand };

/// Frequencies that count, both ends included, Hz.
struct BandLimits {
  double from_hz = 0;
  double to_hz = 0;
};

/// An azimuth at which a criterion is met over the whole band.
struct BandCriterion {
  bool determined = false;  ///< false: `why` states the reason
  OptionalNumber tilt_deg;
  OptionalNumber u_deg;  ///< standard uncertainty
  std::optional<Interval> interval95_deg;
  std::optional<std::string> why;
};

/// The band's total at two azimuths, dB.
struct BandTotals {
  double recommended = 0;
  double band_least = 0;
};
/// The frequency with the highest total at the recommended azimuth.
struct WorstFrequency {
  double frequency_hz = 0;
  double db_at_recommended = 0;
  double db_at_band_least = 0;
};

/// The result over all measured frequencies within the limits. The total is the mean square of the crosstalk in both directions, each
/// relative to its receiving channel, and the weighted mean over the frequencies.
struct BandResult {
  double from_hz = 0;  ///< the lowest frequency that counts
  double to_hz = 0;    ///< the highest one
  Weighting weighting = Weighting::kFlat;
  int frequencies = 0;  ///< their number
  BandCriterion least;  ///< always determined
  BandCriterion equal;
  /// Least crosstalk over the band, minus least crosstalk at the session's frequency. The log has no part in it.
  double least_from_single_deg = 0;
  double u_least_from_single_deg = 0;
  BandTotals total_db_at;
  WorstFrequency worst;
};

/// An azimuth that may be chosen.
enum class Candidate { kEqual, kLeast, kPhase, kBandLeast, kBandEqual, kContactLimit, kAsFound, kNearestSetting, kRecommended };

/// What the choice of an azimuth gives at the session's frequency. Levels are relative to the receiving channel.
struct TradeOffRow {
  Candidate name = Candidate::kRecommended;
  double tilt_deg = 0;
  OptionalNumber u_deg;  ///< absent: a stated azimuth
  double right_into_left_db = 0;
  double left_into_right_db = 0;
  double difference_db = 0;             ///< right into left minus left into right
  double total_db = 0;                  ///< mean square of both
  OptionalNumber phase_difference_deg;  ///< right into left minus left into right, −180° to 180°; absent: no phases were measured
  OptionalNumber balance_db;            ///< left over right; absent: neither levels nor the tilt response show it
  OptionalNumber band_total_db;         ///< absent: no band
};

/// The settings that an adjuster can reach, in the unit of the log: the multiples of `step`, or the `stops`.
struct Adjuster {
  OptionalNumber step;
  std::vector<double> stops;

  bool operator==(const Adjuster&) const = default;
};

/// The reachable setting that is nearest to the recommended azimuth.
struct NearestSetting {
  double setting = 0;               ///< the number on the gauge, in the unit of the log
  double tilt_deg = 0;              ///< the azimuth there
  double from_recommended_deg = 0;  ///< that azimuth minus the recommended one
  double cost_db = 0;               ///< total crosstalk at the session's frequency there, minus that at the recommended azimuth
};

}  // namespace evenwall
