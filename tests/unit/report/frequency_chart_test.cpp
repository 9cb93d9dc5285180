// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/solution_charts.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("The chart of azimuth against frequency is drawn only if there are several frequencies") {
  Solution s = example_solution();
  CHECK_FALSE(frequency_chart(s));
  s.by_frequency = {{315, std::nullopt, std::nullopt, 1.11, 0.02}, {1000, 1.21, 0.03, 1.13, 0.01}, {3150, 1.3, 0.05, 1.17, 0.04}};
  const auto chart = frequency_chart(s);
  REQUIRE(chart);
  for (const char* number : {"1.11", "1.13", "1.17", "1.21"}) CHECK(holds(chart->script.text(), number));
  for (const char* tone : {"315 Hz", "1000 Hz", "3150 Hz"}) CHECK(holds(chart->description, tone));
}

TEST_CASE("The crosstalk against frequency is drawn in both directions for the frequencies that have it") {
  Solution s = example_solution();
  s.by_frequency = {{315, std::nullopt, std::nullopt, 1.11, 0.02, -31.5, -33.25}, {1000, 1.21, 0.03, 1.13, 0.01}};
  CHECK_FALSE(frequency_crosstalk_chart(s));  // an older document has no crosstalk by frequency
  s.by_frequency[1].right_into_left_db = -36.75;
  s.by_frequency[1].left_into_right_db = -38;
  const auto chart = frequency_crosstalk_chart(s);
  REQUIRE(chart);
  CHECK(holds(chart->script.text(), "\n315 -31.5 -33.25\n1000 -36.75 -38\n"));
  CHECK(holds(chart->description, "1000 Hz: right into left -36.8 dB, left into right -38.0 dB."));
}
