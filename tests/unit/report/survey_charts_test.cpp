// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/survey_charts.hpp"

#include "report/plot_engine.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/survey_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

Survey archive_of(std::initializer_list<double> tilts_deg) {
  Survey s = example_survey();
  s.cartridges.clear();
  for (const double tilt : tilts_deg) s.cartridges.push_back({"C", tilt, 0.1, 4.0, Interval{tilt - 0.2, tilt + 0.2}, 2, {}});
  return s;
}

}  // namespace

TEST_CASE("The chart of cartridges has one bar for each, numbered as in the table, and contains no name of the document") {
  Survey s = example_survey();
  s.cartridges[0].name = "'; system 'touch acted' #";
  const auto chart = cartridge_caterpillar(s);
  REQUIRE(chart);
  // Columns: middle, number, low, high; the lowest cartridge comes first.
  CHECK(holds(chart->script.text(), "-0.25 1 -0.47 -0.03\n"));
  CHECK(holds(chart->script.text(), "0.75 2 0.53 0.97\n"));
  CHECK_FALSE(holds(chart->script.text(), "acted"));
  CHECK(holds(chart->description, "In 2 of them the 95 % interval excludes +0.25°"));
  CHECK(holds(chart->description, "The lowest is 1. Larkspur 2 at -0.25° (-0.47° to -0.03°)"));
}

TEST_CASE("Bars that cross the line differ from the other bars in the mark and not only in the colour") {
  Survey s = example_survey();
  s.records[1].interval95_deg = Interval{-0.01, 0.17};
  const auto chart = record_caterpillar(s);
  REQUIRE(chart);
  CHECK(holds(chart->script.text(), "$clear using 1:2:3:4 with xerrorbars lc rgb '#010000' pt 7"));
  CHECK(holds(chart->script.text(), "$near using 1:2:3:4 with xerrorbars lc rgb '#020000' pt 6"));
  CHECK(holds(chart->script.text(), "$near << END_OF_DATA\n0.08 2 -0.01 0.17\nEND_OF_DATA"));
}

TEST_CASE("Records without a cutting-azimuth error have no chart, and two cartridges have no distribution") {
  Survey s = example_survey();
  for (SurveyedRecord& r : s.records) r.cut_error_deg.reset();
  CHECK_FALSE(record_caterpillar(s));
  CHECK_FALSE(tilt_distribution(s));
  CHECK(survey_charts(s).size() == 1);
}

TEST_CASE("An interval far wider than all others is cut off, and the caption states that") {
  Survey s = archive_of({0, 0.1, 0.2});
  CHECK_FALSE(holds(cartridge_caterpillar(s)->caption, "cut off there"));
  s.cartridges[1].interval95_deg = Interval{-40, 40};
  CHECK(holds(cartridge_caterpillar(s)->caption, "cut off there"));
}

TEST_CASE("The distribution counts every cartridge once, also at the edge of a bin") {
  const auto chart = tilt_distribution(archive_of({0.0, 0.04, 0.06, 0.49, 0.5, 1.0}));
  REQUIRE(chart);
  // A span of 1° in at most 24 bins makes them 0.05° wide.
  for (const char* row : {"\n0.025 2\n", "\n0.075 1\n", "\n0.475 1\n", "\n0.525 1\n", "\n1.025 1\n"})
    CHECK(holds(chart->script.text(), row));
  CHECK(holds(chart->description, "how many of 6 cartridges"));
  CHECK(holds(chart->description, "The fullest bin holds 2 of them and lies between +0.00° and +0.05°"));
}

TEST_CASE("A single tilt far from the others does not squeeze them into one bin") {
  Survey s = archive_of({});
  for (int i = 0; i < 100; ++i) s.cartridges.push_back({"C", 0.01 * i, 0.1, 4.0, std::nullopt, 1, {}});
  s.cartridges.push_back({"far", 40, 0.1, 4.0, std::nullopt, 1, {}});
  const auto chart = tilt_distribution(s);
  CHECK(holds(chart->caption, "1 cartridge lies too far out"));
  CHECK(holds(chart->script.text(), "\n0.025 5\n"));
}

TEST_CASE("gnuplot draws every chart of a survey") {
  Survey s = archive_of({-0.4, 0.1, 0.3, 0.9});
  const auto charts = survey_charts(s);
  REQUIRE(charts.size() == 3);
  for (const Chart& chart : charts) CHECK(drawn_by_gnuplot(chart.script));
}
