// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/report.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;

TEST_CASE("The page begins with the answer, loads nothing from the network, and shows names as text") {
  Solution s = example_solution();
  s.session.cartridge = "<script>alert(1)</script>";
  s.steps[0].capture = "\"><img src=x onerror=1>";
  const std::string page = solution_page(s);
  CHECK(page.starts_with("<!DOCTYPE html>"));
  CHECK(holds(page, "default-src 'none'"));
  CHECK(holds(page, "set the azimuth to +1.104° (95 % interval +1.063° to +1.146°)"));
  CHECK_FALSE(holds(page, "<script"));
  CHECK_FALSE(holds(page, "<img src=x"));
  CHECK(holds(page, "&lt;script&gt;alert(1)"));
  // A namespace may be an address: it is only a name, and nothing is fetched from it.
  for (const char* fetch : {"src=\"http", "href=\"http", "url(http", "@import", "<link"}) CHECK_FALSE(holds(page, fetch));
}

TEST_CASE("The page names the direction of the turn and the screw for the shim") {
  Solution s = example_solution();
  const std::string clockwise = solution_page(s);
  CHECK(holds(clockwise, "clockwise as seen from the front"));
  CHECK(holds(clockwise, "outer screw"));
  s.shim = {0, -1.2, 0.27, Side::kOuterSide, Side::kSpindleSide};
  const std::string anticlockwise = solution_page(s);
  CHECK(holds(anticlockwise, "anticlockwise as seen from the front"));
  CHECK(holds(anticlockwise, "spindle-side screw"));
}

TEST_CASE("A misspelt key is no matter for the client's page, other warnings are") {
  Solution s = example_solution();
  s.warnings = {{WarningCode::kUnknownKey, "session.json: key /colour is unknown."}, {WarningCode::kNotVerified, "No step verifies."}};
  const std::string page = solution_page(s);
  CHECK_FALSE(holds(page, "/colour"));
  CHECK_FALSE(holds(page, "unknown_key"));
  CHECK(holds(page, "No step verifies."));
  s.warnings.pop_back();
  CHECK(holds(solution_page(s), "There are no warnings."));
}
