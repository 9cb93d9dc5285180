// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/survey_csv.hpp"

#include <fmt/format.h>

#include "app/csv_cell.hpp"

namespace evenwall::internal::app {
namespace {

constexpr const char* kSurveyHead =
    "kind,name,record,tilt_deg,u_deg,interval95_low_deg,interval95_high_deg,degrees_of_freedom,solutions,equal_crosstalk_deg,"
    "standardised_residual\n";

struct Row {
  const char* kind;
  std::string name, record;
  OptionalNumber tilt_deg, u_deg;
  std::optional<Interval> interval95_deg;
  OptionalNumber degrees_of_freedom;
  int solutions = 1;
  OptionalNumber equal_crosstalk_deg, standardised_residual;
};

std::string line_of(const Row& r) {
  const auto bound = [&](std::size_t i) { return r.interval95_deg ? OptionalNumber((*r.interval95_deg)[i]) : std::nullopt; };
  return fmt::format("{},{},{},{},{},{},{},{},{},{},{}\n", r.kind, text_cell(r.name), text_cell(r.record), number_cell(r.tilt_deg),
                     number_cell(r.u_deg), number_cell(bound(0)), number_cell(bound(1)), number_cell(r.degrees_of_freedom), r.solutions,
                     number_cell(r.equal_crosstalk_deg), number_cell(r.standardised_residual));
}

}  // namespace

std::string survey_csv(const Survey& survey) {
  std::string csv = kSurveyHead;
  csv += line_of({"mean",
                  "",
                  "",
                  survey.mean_deg,
                  survey.u_mean_deg,
                  survey.interval95_mean_deg,
                  survey.mean_degrees_of_freedom,
                  survey.solutions,
                  {},
                  {}});
  for (const SurveyedCartridge& c : survey.cartridges) {
    csv += line_of({"cartridge", c.name, "", c.tilt_deg, c.u_deg, c.interval95_deg, c.degrees_of_freedom, c.solutions, {}, {}});
    for (const EqualCrosstalkOnRecord& e : c.equal_crosstalk)
      csv += line_of({"equal_crosstalk", c.name, e.record.value_or(""), {}, {}, {}, {}, 1, e.tilt_deg, {}});
  }
  for (const SurveyedRecord& r : survey.records)
    csv += line_of({"record", r.name, r.name, r.cut_error_deg, r.u_deg, r.interval95_deg, r.degrees_of_freedom, r.solutions, {}, {}});
  for (const SurveyedGroup& g : survey.groups)
    csv += line_of({"group", g.name, "", g.mean_deg, g.u_mean_deg, g.interval95_mean_deg, {}, g.solutions, {}, {}});
  for (const BadSolution& b : survey.bad_solutions)
    csv += line_of({"bad_solution", b.solution, b.record, b.tilt_deg, {}, {}, {}, 1, {}, b.standardised_residual});
  return csv;
}

}  // namespace evenwall::internal::app
