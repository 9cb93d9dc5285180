// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/solution_charts.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("The chart of the tilt response shows the tilt from the signal against the logged tilt of each step") {
  Solution s = example_solution();
  s.steps[2].tilt_from_signal_deg = 2.625;
  const auto chart = tilt_response_chart(s);
  REQUIRE(chart);
  CHECK((holds(chart->script.text(), "2.625") || holds(chart->script.text(), "0.625")));
  s.steps.clear();
  CHECK_FALSE(tilt_response_chart(s));
}

TEST_CASE("Steps without a logged tilt are not in the chart of the tilt response") {
  Solution s = example_solution();
  s.steps[2].tilt_from_signal_deg = 2.625;
  s.steps[2].audit_deg.reset();
  CHECK_FALSE(holds(tilt_response_chart(s)->script.text(), "2.625"));
  for (SolvedStep& step : s.steps) step.audit_deg.reset();
  CHECK_FALSE(tilt_response_chart(s));
}

TEST_CASE("The chart of balance against tilt is drawn only if steps have a balance") {
  Solution s = example_solution();
  for (SolvedStep& step : s.steps) step.balance_db.reset();
  CHECK_FALSE(balance_chart(s));
  for (SolvedStep& step : s.steps) step.balance_db = 0.375;
  const auto chart = balance_chart(s);
  REQUIRE(chart);
  CHECK(holds(chart->script.text(), "0.375"));
  CHECK(holds(chart->script.text(), "title 'recommended'"));
  CHECK(holds(chart->caption, "The dotted line is the recommended azimuth"));
}

TEST_CASE("The chart of distortion against tilt is drawn only if steps have distortion, and its axis begins at zero") {
  Solution s = example_solution();
  CHECK_FALSE(distortion_chart(s));
  s.steps[0].distortion_left_percent = 0.375;
  s.steps[2].distortion_right_percent = 1.625;
  const auto chart = distortion_chart(s);
  REQUIRE(chart);
  CHECK(holds(chart->script.text(), "\n-2 0.375 NaN\n2 NaN 1.625\nEND_OF_DATA"));
  CHECK(holds(chart->script.text(), "set yrange [0:"));
  // Equal values of both channels are drawn side by side, each moved by 1.4 % of an axis of 4.48° (steps from -2 to 2, and 6 % of margin on
  // each side).
  CHECK(holds(chart->script.text(), "using ($1-0.06272):2"));
  CHECK(holds(chart->script.text(), "using ($1+0.06272):3"));
  CHECK(holds(chart->description, "At -2.00°: left 0.38, right n/a. At +2.00°: left n/a, right 1.62."));
}
