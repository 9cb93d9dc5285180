// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/survey.hpp"
#include "support/catch.hpp"
#include "support/survey_example.hpp"

using namespace evenwall;

namespace {

SessionFacts session_on(const std::optional<std::string>& record, const std::optional<std::string>& side) {
  SessionFacts facts;
  facts.record = record;
  facts.record_side = side;
  return facts;
}

}  // namespace

TEST_CASE("The correction is that of the record side, with an uncertainty enlarged for few degrees of freedom") {
  const RecordLookup found = record_correction_of(example_survey(), "a.json", session_on("T1", "A"));
  REQUIRE(found.correction);
  CHECK(found.correction->cut_error_deg == -0.08);
  CHECK(found.correction->record == "T1, side A");
  CHECK(found.correction->survey == "a.json");
  // 0.02 with 9 degrees of freedom (t 2.262157) and 0.07 with one (t 12.706205), each over 1.959964.
  CHECK_THAT(found.correction->u_deg, WithinRel(std::hypot(0.02 * 2.262157 / 1.959964, 0.07 * 12.706205 / 1.959964), 1e-6));
}

TEST_CASE("A record that the survey does not contain is named in the reason") {
  const auto why = [](const Survey& s, const SessionFacts& facts) { return record_correction_of(s, "a.json", facts).why_not; };
  CHECK(why(example_survey(), session_on("T1", "B")) == "T1, side B is not in a.json");
  CHECK(why(example_survey(), session_on("T1", std::nullopt)) == "T1 is not in a.json");
  CHECK(why(example_survey(), session_on(std::nullopt, "A")).find("does not state its record") != std::string::npos);
  Survey one = example_survey();
  one.records[1].cut_error_deg.reset();
  CHECK(why(one, session_on("T2", std::nullopt)) == "a.json does not determine the cutting-azimuth error of T2");
}
