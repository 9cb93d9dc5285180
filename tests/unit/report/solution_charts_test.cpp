// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/solution_charts.hpp"

#include <algorithm>
#include <cmath>

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("Each chart has a unique name, a title and a description, and contains no text of the document") {
  Solution s = example_solution();
  s.steps[0].capture = "`touch owned`'.wav";
  s.session.cartridge = "$(touch owned)";
  const auto charts = solution_charts(s);
  REQUIRE(charts.size() >= 4);
  std::vector<std::string> names;
  for (const Chart& chart : charts) {
    CHECK_FALSE(chart.title.empty());
    CHECK_FALSE(chart.description.empty());
    CHECK_FALSE(holds(chart.script.text(), "owned"));
    CHECK(std::find(names.begin(), names.end(), chart.name) == names.end());
    names.push_back(chart.name);
  }
}
