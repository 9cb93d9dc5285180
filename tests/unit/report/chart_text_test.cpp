// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <sstream>
#include <vector>

#include "evenwall/report.hpp"
#include "report/page.hpp"
#include "support/catch.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

}  // namespace

TEST_CASE("the text chart fits 80 columns and 24 lines") {
  const auto lines = lines_of(crosstalk_chart_text(example_solution()));
  CHECK(lines.size() <= 24);
  for (const std::string& line : lines) CHECK(display_columns(line) <= 80);
}

TEST_CASE("curves that cross are drawn crossing, and the answer is marked at its azimuth") {
  const auto lines = lines_of(crosstalk_chart_text(example_solution()));
  const std::string& top = lines[1];
  // Right into left falls with tilt: it is largest at the left end, left into right at the right end.
  CHECK(top.find('o') < top.find('x'));
  const std::string& bottom = lines[18];
  CHECK(bottom.find('x') < bottom.find('o'));
  const std::size_t answer = lines[2].find(':');
  REQUIRE(answer != std::string::npos);
  // +1.104 in −2 … +2 over 68 columns from column 9: 9 + 0.776 · 67 = 61.
  CHECK(answer == 61);
  CHECK(lines.back().find("-2.00°") == 9);
}

TEST_CASE("a solution without curves has a sentence instead of a chart") {
  Solution s = example_solution();
  s.curves = {};
  CHECK(crosstalk_chart_text(s) == "No chart is drawn: the solution contains no curves.\n");
}

TEST_CASE("points without a level are not drawn, and a curve without any level gives no chart") {
  Solution s = example_solution();
  const auto whole = lines_of(crosstalk_chart_text(s));
  s.curves.right_into_left_db[1] = NAN;
  s.curves.left_into_right_db[2] = -HUGE_VAL;
  CHECK(lines_of(crosstalk_chart_text(s)).size() == whole.size());
  for (double& level : s.curves.right_into_left_db) level = NAN;
  CHECK(crosstalk_chart_text(s) == "No chart is drawn: the solution contains no curves.\n");
  s = example_solution();
  s.curves.tilt_deg[0] = NAN;
  CHECK(crosstalk_chart_text(s) == "No chart is drawn: the solution contains no curves.\n");
}
