// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/solution_charts.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

TradeOffRow row_of(Candidate name, double tilt_deg, double difference_db, double total_db) {
  TradeOffRow row;
  row.name = name;
  row.tilt_deg = tilt_deg;
  row.difference_db = difference_db;
  row.total_db = total_db;
  return row;
}

Solution with_choices() {
  Solution s = example_solution();
  s.recommended.tilt_deg = 1.0;
  s.trade_off = {row_of(Candidate::kEqual, 1.0, 0, -35.5), row_of(Candidate::kLeast, 1.25, -2.125, -36),
                 row_of(Candidate::kNearestSetting, 1.5, -4.5, -35.75), row_of(Candidate::kAsFound, -2, 12, -24),
                 row_of(Candidate::kRecommended, 1.0, 0, -35.5)};
  return s;
}

}  // namespace

TEST_CASE("The chart of the choices marks the two costs of each choice at its azimuth, and names it") {
  const auto chart = choice_chart(with_choices());
  REQUIRE(chart);
  const std::string& script = chart->script.text();
  CHECK(holds(script, "$marks << END_OF_DATA\n1 0.5 0\n1.25 0 2.125\n1.5 0.25 4.5\nEND_OF_DATA"));
  for (const char* letter : {"'A' at 1,", "'B' at 1.25,", "'C' at 1.5,"}) CHECK(holds(script, letter));
  CHECK(holds(chart->caption, "A: equal (recommended), at +1.000°: total 0.50 dB, difference 0.00 dB."));
  CHECK(holds(chart->caption, "C: nearest setting of the adjuster, at +1.500°: total 0.25 dB, difference 4.50 dB."));
  CHECK_FALSE(holds(script, "as found"));
  CHECK(holds(chart->description, "equal, at +1.000°: total 0.50 dB above the lowest, difference 0.00 dB."));
  // The lines pass through the marks.
  CHECK(holds(script.substr(script.find("$costs")), "\n1.25 0 2.125\n"));
}

TEST_CASE("Without curves or without two choices there is no chart of the choices") {
  Solution s = with_choices();
  s.curves = {};
  CHECK_FALSE(choice_chart(s));
  s = with_choices();
  s.trade_off = {s.trade_off[1], s.trade_off[3]};  // least, and the state as found
  CHECK_FALSE(choice_chart(s));
  s.trade_off.push_back(row_of(Candidate::kRecommended, 1.1, -1, -35.9));  // an azimuth between two criteria
  const auto chart = choice_chart(s);
  REQUIRE(chart);
  CHECK(holds(chart->caption, "A: recommended, at +1.100°: total 0.10 dB, difference 1.00 dB."));
}

TEST_CASE("A document with more choices than there are letters gets a chart with the first of them") {
  Solution s = with_choices();
  for (int i = 0; i < 40; ++i) s.trade_off.push_back(row_of(Candidate::kPhase, 1.6 + 0.01 * i, -3, -35));
  const auto chart = choice_chart(s);
  REQUIRE(chart);
  CHECK(holds(chart->script.text(), "'I' at 1.65,"));
  CHECK_FALSE(holds(chart->script.text(), " at 1.66,"));
}
