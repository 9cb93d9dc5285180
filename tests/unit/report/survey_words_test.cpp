// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/survey_words.hpp"

#include "support/catch.hpp"
#include "support/survey_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

bool holds(const std::vector<std::string>& texts, const std::string& part) {
  for (const std::string& text : texts) {
    if (text.find(part) != std::string::npos) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("A survey answers in sentences") {
  const Survey s = example_survey();
  CHECK(survey_answer(s) == "On average the cartridges need a tilt of +0.250 ± 0.090° (95 % interval +0.010° to +0.490°).");
  CHECK(holds(spread_sentences(s), "standard deviation of 0.400°: about two in three need between -0.15° and +0.65°"));
  CHECK(holds(spread_sentences(s), "One session strays by 0.030°"));
  // Both records have an error of 0.08°; the text names the first in order of name, and its error is negative.
  CHECK(holds(record_sentences(s), "T1, side A: its cut is off by -0.080 ± 0.020°"));
  CHECK(holds(record_sentences(s), "find tilts that are too low"));
  CHECK(holds(record_sentences(s), "Of 2 record sides, 2 have a 95 % interval that is clear of zero."));
  CHECK(holds(record_sentences(s), "2 parts that share no cartridge"));
  CHECK(holds(record_sentences(s), "± 0.070°"));
  CHECK(holds({named_sentence(s)}, "1 solution is contradicted by the others and left out; 1 warning stands below."));
}

TEST_CASE("A drift is told as one only where it was warned of") {
  Survey s = example_survey();
  CHECK(drift_sentence(s).starts_with("No drift of the rig is shown: +0.020 ± 0.010° a year"));
  s.warnings.push_back({WarningCode::kDrift, "moves"});
  CHECK(drift_sentence(s).starts_with("The rig DRIFTS: +0.020"));
  s.drift.reset();
  CHECK(drift_sentence(s).starts_with("Drift of the rig can't be told"));
}

TEST_CASE("What an archive can't tell is said, not left blank") {
  Survey s = example_survey();
  s.spread_deg = {};
  for (SurveyedRecord& r : s.records) r.cut_error_deg = r.u_deg = std::nullopt;
  s.u_mean_deg.reset();
  CHECK(survey_answer(s) == "On average the cartridges need a tilt of +0.250°.");
  CHECK(holds(spread_sentences(s), "can't be told"));
  CHECK(holds(record_sentences(s), "can't be told"));
  CHECK(spread_text(std::nullopt) == "can't be told");
  s.bad_solutions.clear();
  s.warnings.clear();
  CHECK(named_sentence(s).starts_with("Nothing was found amiss"));
}

TEST_CASE("A record spread of zero names no record as off") {
  Survey s = example_survey();
  s.spread_deg.record = 0;
  CHECK(holds(record_sentences(s), "No record's cut is shown to be off"));
  CHECK_FALSE(holds(record_sentences(s), "Farthest"));
}

TEST_CASE("Furthest from the mean comes first") {
  Survey s = example_survey();
  s.cartridges.push_back({"far", -3, 0.1, 4, {}, 1, {}});
  const auto list = furthest_from_mean(s);
  CHECK(list.front()->name == "far");
  CHECK(list.size() == 3);
}
