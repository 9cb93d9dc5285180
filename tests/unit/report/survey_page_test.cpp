// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/error.hpp"
#include "evenwall/report.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/survey_example.hpp"

using namespace evenwall;

TEST_CASE("The page of a survey begins with the answer, has its sections in order, and shows names as text") {
  Survey s = example_survey();
  s.cartridges[0].name = "<script>alert(1)</script>";
  s.records[0].name = "\"><img src=x onerror=1>";
  s.bad_solutions[0].solution = "<b>bold</b>";
  s.grouped_by = "<i>";
  const std::string page = survey_page(s);
  std::size_t at = 0;
  for (const char* part : {"<!DOCTYPE html>", "On average, the cartridges need an azimuth of +0.250° (95 % interval +0.010° to +0.490°)",
                           "id=\"spreads\"", "id=\"charts\"", "id=\"records\"", "id=\"cartridges\"", "id=\"groups\"", "id=\"named\"",
                           "id=\"warnings\"", "id=\"cautions\"", "id=\"inputs\"", "</html>"}) {
    const std::size_t found = page.find(part, at);
    CHECK(found != std::string::npos);
    if (found != std::string::npos) at = found;
  }
  for (const char* acts : {"<script", "<img src=x", "<b>bold", "By <i>"}) CHECK_FALSE(holds(page, acts));
  CHECK(holds(page, "&lt;script&gt;alert(1)"));
}

TEST_CASE("The page of a very large archive stays small and states how much it does not show") {
  Survey s = example_survey();
  s.cartridges.clear();
  for (int i = 0; i < 20000; ++i)
    s.cartridges.push_back({"No. " + std::to_string(i), 0.0001 * i, 0.02, 4.0, Interval{0.0001 * i - 0.05, 0.0001 * i + 0.05}, 2, {}});
  s.warnings.assign(500, {WarningCode::kDuplicateSolution, "the same twice"});
  const std::string page = survey_page(s);
  CHECK(page.size() < 200'000);  // three charts of about 20 kB, 40 rows and a style sheet
  CHECK(holds(page, "19960 more cartridges are not shown here. The JSON document and evenwall survey --csv have all of them."));
  CHECK(holds(page, "460 more warnings are not shown here."));
  CHECK_FALSE(holds(survey_page(example_survey()), "not shown here"));
}

TEST_CASE("A survey without cartridges is refused") {
  Survey s = example_survey();
  s.cartridges.clear();
  CHECK_THROWS_AS(survey_page(s), Error);
}
