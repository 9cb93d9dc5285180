// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the result that `survey` reports for an archive of solutions.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model/solution.hpp"

namespace evenwall {

/// The values of a solution that a survey uses.
struct ArchivedSolution {
  std::string name;  ///< name of the document, for people
  std::optional<std::string> cartridge, record, record_side, date;
  std::optional<std::string> group;  ///< the session's text under the key by which the survey groups
  double least_crosstalk_deg = 0;    ///< as captured: a record correction that `solve` subtracted is added again
  OptionalNumber u_least_crosstalk_deg, equal_crosstalk_deg;
};

/// Standard deviations of one cartridge, one record side and one session about the values expected from the others. A value is absent if
/// the archive does not separate it from another one (a warning states the reason).
struct SurveySpread {
  OptionalNumber cartridge, record, residual;
};

/// An equal-crosstalk tilt as found on one record. These tilts are not additive, so they are only listed.
struct EqualCrosstalkOnRecord {
  std::optional<std::string> record;
  double tilt_deg = 0;
};

/// A cartridge's tilt on an error-free cut. The fewer sessions it has, the more it is shrunk towards the mean.
struct SurveyedCartridge {
  std::string name;
  double tilt_deg = 0;
  OptionalNumber u_deg, degrees_of_freedom;
  std::optional<Interval> interval95_deg;
  int solutions = 0;
  std::vector<EqualCrosstalkOnRecord> equal_crosstalk;
};

/// A record side's cutting-azimuth error, relative to the mean of the records. Sessions on that side find tilts that are too high by it.
struct SurveyedRecord {
  std::string name;    ///< record and side, for people
  std::string record;  ///< with `record_side`, as in the sessions
  std::optional<std::string> record_side;
  OptionalNumber cut_error_deg, u_deg, degrees_of_freedom;  ///< absent if the archive does not determine them
  std::optional<Interval> interval95_deg;
  int solutions = 0;
  int part = 1;  ///< records of different parts have no cartridge in common, not even through other records
};

/// Straight line of the tilts over time, in a model with cartridges and records.
struct SurveyDrift {
  double deg_per_year = 0;
  double u_deg_per_year = 0;
  Interval interval95_deg_per_year{};
  double degrees_of_freedom = 0;
  double p_value = 1;  ///< two-sided, of the hypothesis that there is no drift
  int solutions = 0;   ///< number of solutions that have a date
  std::string first_date, last_date;
};

/// The cartridges of one group, corrected by the cut errors from the whole archive.
struct SurveyedGroup {
  std::string name;
  double mean_deg = 0;
  OptionalNumber u_mean_deg;
  std::optional<Interval> interval95_mean_deg;
  OptionalNumber spread_cartridge_deg;
  int cartridges = 0;
  int solutions = 0;
};

/// A solution that the others contradict. It is excluded and compared with the value expected from them.
struct BadSolution {
  std::string solution, cartridge, record;
  double tilt_deg = 0;  ///< least crosstalk, as found
  double expected_deg = 0;
  double standardised_residual = 0;  ///< in standard deviations of the value expected from the others
};

struct Survey {
  double mean_deg = 0;
  OptionalNumber u_mean_deg, mean_degrees_of_freedom;  ///< absent if it cannot be determined
  std::optional<Interval> interval95_mean_deg;
  SurveySpread spread_deg;
  OptionalNumber u_records_mean_deg;          ///< of the records' mean about an error-free cut: spread/√(number of records)
  int solutions = 0;                          ///< number of solutions that are fitted
  std::vector<SurveyedCartridge> cartridges;  ///< sorted by name
  std::vector<SurveyedRecord> records;        ///< sorted by name
  std::optional<SurveyDrift> drift;           ///< absent if fewer than three dates differ
  std::optional<std::string> grouped_by;
  std::vector<SurveyedGroup> groups;
  std::vector<BadSolution> bad_solutions;
  Warnings warnings;
  std::optional<MadeBy> made_by{};  ///< set in a document read back
};

}  // namespace evenwall
