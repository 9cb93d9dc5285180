// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/survey_words.hpp"

#include "support/catch.hpp"
#include "support/survey_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

bool has_part(const std::vector<std::string>& texts, const std::string& part) {
  for (const std::string& text : texts) {
    if (text.find(part) != std::string::npos) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("A survey answers in sentences") {
  const Survey s = example_survey();
  CHECK(survey_answer(s) == "On average, the cartridges need an azimuth of +0.250° (95 % interval +0.010° to +0.490°).");
  CHECK(has_part(spread_sentences(s), "is 0.400°. About two in three cartridges need an azimuth between -0.15° and +0.65°"));
  CHECK(has_part(spread_sentences(s), "for its cartridge and its record is 0.030°."));
  // Both records have an error of 0.08°; the text names the first in order of name, and its error is negative.
  CHECK(has_part(record_sentences(s), "T1, side A is farthest from the records' mean: its cutting-azimuth error is -0.080° (u = 0.020°, "));
  CHECK(has_part(record_sentences(s), "find azimuths that are too low"));
  CHECK(has_part(record_sentences(s), "The 95 % interval excludes zero for 2 of 2 record sides."));
  CHECK(has_part(record_sentences(s), "2 parts that share no cartridge"));
  CHECK(has_part(record_sentences(s), "u = 0.070°"));
  CHECK(has_part({named_sentence(s)}, "1 solution is contradicted by the others and is excluded. 1 warning is listed below."));
}

TEST_CASE("The text states a drift only if a warning of drift was given") {
  Survey s = example_survey();
  CHECK(drift_sentence(s).starts_with("The archive shows no drift of the rig. The azimuths change by +0.020° per year (u = 0.010°, "));
  s.warnings.push_back({WarningCode::kDrift, "moves"});
  CHECK(drift_sentence(s).starts_with("The rig drifts. The azimuths change by +0.020°"));
  s.drift.reset();
  CHECK(drift_sentence(s).starts_with("A drift of the rig cannot be determined."));
}

TEST_CASE("The text states what an archive cannot determine") {
  Survey s = example_survey();
  s.spread_deg = {};
  for (SurveyedRecord& r : s.records) r.cut_error_deg = r.u_deg = std::nullopt;
  s.u_mean_deg.reset();
  CHECK(survey_answer(s) == "On average, the cartridges need an azimuth of +0.250°.");
  CHECK(has_part(spread_sentences(s), "cannot be determined"));
  CHECK(has_part(record_sentences(s), "cannot be determined"));
  CHECK(spread_text(std::nullopt) == "not determined");
  s.bad_solutions.clear();
  s.warnings.clear();
  CHECK(named_sentence(s).starts_with("No solution is contradicted by the others, and there are no warnings"));
}

TEST_CASE("If the spread of records is zero, the text names no record with an error") {
  Survey s = example_survey();
  s.spread_deg.record = 0;
  CHECK(has_part(record_sentences(s), "The archive shows no cutting-azimuth error of any record."));
  CHECK_FALSE(has_part(record_sentences(s), "farthest"));
}

TEST_CASE("The cartridge farthest from the mean comes first") {
  Survey s = example_survey();
  s.cartridges.push_back({"far", -3, 0.1, 4, {}, 1, {}});
  const auto list = furthest_from_mean(s);
  CHECK(list.front()->name == "far");
  CHECK(list.size() == 3);
}
