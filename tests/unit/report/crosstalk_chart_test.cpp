// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/solution_charts.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("The crosstalk chart draws both curves from the numbers of the document and has a description") {
  Solution s = example_solution();
  s.curves.right_into_left_db[7] = -31.625;
  s.curves.left_into_right_db[7] = -27.375;
  for (std::size_t i = 0; i < s.curves.tilt_deg.size(); ++i) {
    s.curves.right_into_left_band95_db.push_back({s.curves.right_into_left_db[i] - 1, s.curves.right_into_left_db[i] + 1});
    s.curves.left_into_right_band95_db.push_back({s.curves.left_into_right_db[i] - 1, s.curves.left_into_right_db[i] + 1});
  }
  const auto chart = crosstalk_chart(s);
  REQUIRE(chart);
  CHECK(holds(chart->script.text(), "-31.625"));
  CHECK(holds(chart->script.text(), "-27.375"));
  CHECK(holds(chart->script.text(), "right into left"));
  CHECK(holds(chart->script.text(), "left into right"));
  CHECK_FALSE(chart->description.empty());
  CHECK_FALSE(holds(chart->script.text(), "low.wav"));
  Solution bare = s;
  bare.curves = {};
  bare.steps.clear();
  CHECK_FALSE(crosstalk_chart(bare));
}
