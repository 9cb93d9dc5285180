// SPDX-License-Identifier: GPL-3.0-or-later
// What `survey` reports about an archive of solutions.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model/solution.hpp"

namespace evenwall {

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
