// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/survey_tables.hpp"

#include <algorithm>

#include "report/page_frame.hpp"
#include "support/catch.hpp"
#include "support/survey_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

/// Cartridges at 0.00°, 0.01°, …; the mean equals the lowest.
Survey many_cartridges(int count) {
  Survey s = example_survey();
  s.mean_deg = 0;
  s.cartridges.clear();
  for (int i = 0; i < count; ++i)
    s.cartridges.push_back({"No. " + std::to_string(i), 0.01 * i, 0.02, 4.0, Interval{0.01 * i - 0.05, 0.01 * i + 0.05}, 2, {}});
  return s;
}

}  // namespace

TEST_CASE("Rows are numbered from the lowest, and every row has all columns") {
  const Survey s = example_survey();
  const TextTable cartridges = cartridge_table(s);
  REQUIRE(cartridges.rows.size() == 3);
  CHECK(cartridges.rows[1][0] == "1. Larkspur 2");
  CHECK(cartridges.rows[2][0] == "2. Larkspur 1");
  CHECK(cartridges.rows[2][5] == "+0.80° on T1, side A; +0.70° on (not named)");
  CHECK(record_table(s).rows[1][0] == "1. T1, side A");
  CHECK(record_table(s).rows[1][1] == "-0.080°");
  CHECK(record_table(s).rows[1][2] == "0.020°");
  CHECK(group_table(s).rows[1][5] == "2");
  CHECK(bad_solution_table(s).rows[1][5] == "31.5");
  for (const TextTable& table : {cartridges, record_table(s), group_table(s), bad_solution_table(s), spread_table(s)}) {
    for (const auto& row : table.rows) CHECK(row.size() == table.rows[0].size());
  }
}

TEST_CASE("Of many cartridges those farthest from the mean are shown") {
  const Survey s = many_cartridges(1000);
  const auto shown = shown_cartridges(s);
  REQUIRE(shown.size() == kMostPageRows);
  CHECK(shown.front()->name == "No. 960");
  CHECK(shown.back()->name == "No. 999");
  CHECK(cartridge_table(s).rows.size() == kMostPageRows + 1);
}

TEST_CASE("Names are cut and escaped") {
  Survey s = example_survey();
  s.records[0].name = std::string(5000, 'x');
  s.cartridges[0].name = "\x1b[2J";
  for (const auto& row : record_table(s).rows) CHECK(display_columns(row[0]) <= 64);
  const TextTable table = cartridge_table(s);
  CHECK(std::none_of(table.rows.begin(), table.rows.end(), [](const auto& row) { return row[0].find('\x1b') != std::string::npos; }));
}
