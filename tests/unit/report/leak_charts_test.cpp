// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/solution_charts.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("The chart of the plane shows the crosstalk of each step in percent, as real and imaginary part") {
  const auto chart = leak_plane_chart(example_solution());
  REQUIRE(chart);
  // −28.4 dB is 3.80 %; at 12° its real and imaginary parts are 3.72 and 0.79.
  CHECK(holds(chart->script.text(), "3.71"));
  CHECK(holds(chart->script.text(), "0.79"));
  CHECK(holds(chart->description, "3.80 %"));
}

TEST_CASE("A level that crosstalk cannot have is not drawn in the plane") {
  Solution s = example_solution();
  s.steps.front().right_into_left_db = 1e154;
  const auto chart = leak_plane_chart(s);
  REQUIRE(chart);
  CHECK_FALSE(holds(chart->description, "inf"));
  CHECK_FALSE(holds(chart->script.text(), "inf"));
}

TEST_CASE("An excluded step is not drawn in the charts of plane, phases, tilt response and balance, and does not widen the level axis") {
  Solution s = example_solution();
  REQUIRE(s.steps.size() > 2);
  SolvedStep& odd = s.steps[1];
  odd.right_into_left_db = odd.left_into_right_db = -0.5;
  odd.right_into_left_phase_deg = odd.left_into_right_phase_deg = 0.0;
  odd.tilt_from_signal_deg = 43.21;
  odd.audit_deg = 43.21 - odd.tilt_deg;
  odd.balance_db = 7.625;
  odd.used = false;
  const auto text = [](const std::optional<Chart>& chart) { return chart ? chart->script.text() + chart->description : std::string(); };
  REQUIRE(holds(text(leak_plane_chart(s)), "94.4"));
  REQUIRE(holds(text(tilt_response_chart(s)), "43.21"));
  REQUIRE(holds(text(balance_chart(s)), "7.625"));
  const std::string range = "set yrange [";
  const auto top = [&](const Solution& solution) {
    return text(crosstalk_chart(solution)).substr(text(crosstalk_chart(solution)).find(range), 40);
  };
  const std::string before = top(s);
  odd.flags = {StepFlag::kLeaksOff};
  CHECK_FALSE(holds(text(leak_plane_chart(s)), "94.4"));
  CHECK_FALSE(holds(text(tilt_response_chart(s)), "43.21"));
  CHECK_FALSE(holds(text(balance_chart(s)), "7.625"));
  CHECK(holds(text(tilt_response_chart(s)), "The fit excludes 1 of 3 steps."));
  CHECK(top(s) != before);
}

TEST_CASE("Without phases neither the chart of the plane nor the chart of phases is drawn") {
  Solution s = example_solution();
  CHECK(leak_phase_chart(s));
  for (SolvedStep& step : s.steps) step.right_into_left_phase_deg.reset(), step.left_into_right_phase_deg.reset();
  CHECK_FALSE(leak_plane_chart(s));
  CHECK_FALSE(leak_phase_chart(s));
}
