// SPDX-License-Identifier: GPL-3.0-or-later
#include <sstream>

#include "evenwall/report.hpp"
#include "report/page.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/survey_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

std::size_t widest(const std::string& text) {
  std::istringstream lines(text);
  std::size_t most = 0;
  for (std::string line; std::getline(lines, line);) most = std::max(most, display_columns(line));
  return most;
}

}  // namespace

TEST_CASE("A survey's page opens with the answer and shows every part") {
  const std::string text = survey_text(example_survey(), false);
  CHECK(holds(text.substr(0, 120), "On average, the cartridges need an azimuth of +0.250°"));
  CHECK(holds(text, "6 solutions, 2 cartridges, 2 record sides."));
  CHECK(holds(text, "-0.080°  0.020°"));
  CHECK(holds(text, "+0.750°  0.080°"));
  CHECK(holds(text, "By cartridge_model"));
  CHECK(holds(text, "The azimuths change by +0.020° per"));
  CHECK(holds(text, "solution_off"));
  CHECK(text.find("Larkspur 1") < text.find("Larkspur 2"));
  CHECK(widest(text) <= kPageColumns);
}

TEST_CASE("The text states what cannot be determined, and names cannot break its lines") {
  Survey s = example_survey();
  s.u_mean_deg.reset();
  s.interval95_mean_deg.reset();
  s.spread_deg.record.reset();
  s.records[0].cut_error_deg.reset();
  s.records[0].name = std::string(200, 'x') + "\x1b[31m";
  s.cartridges[0].u_deg.reset();
  s.drift.reset();
  const std::string text = survey_text(s, false);
  CHECK(holds(text, "not determined"));
  CHECK(holds(text, "A drift of the rig cannot be determined."));
  CHECK_FALSE(holds(text, "\x1b"));
  CHECK(widest(text) <= kPageColumns);
}

TEST_CASE("The text of a large archive stays short") {
  Survey s = example_survey();
  s.cartridges.resize(20000, s.cartridges[0]);
  const std::string text = survey_text(s, false);
  CHECK(holds(text, "… 19960 more cartridges are not shown."));
  CHECK(std::count(text.begin(), text.end(), '\n') < 200);
}
