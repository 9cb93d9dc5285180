// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/sessions_table.hpp"

#include <algorithm>
#include <sstream>

#include "report/page.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

TEST_CASE("a session is one line of the CSV table, with the turn from the present state") {
  Solution s = example_solution();
  s.session.cartridge = "=Larkspur, no. 7";
  s.now = example_now();
  s.set_to = SetTo{1.11, 0.022, {1.07, 1.15}, {}, {}, {}};
  s.verdict = Verdict{VerdictState::kTurn, 0.05, ""};
  s.warnings.push_back({WarningCode::kDrift, ""});
  s.warnings.push_back({WarningCode::kFewSteps, "again"});
  CHECK(sessions_csv_line(session_line_of("clients/larkspur", s)) ==
        "clients/larkspur,\"'=Larkspur, no. 7\",1.11,0.022,,,-0.87,0.015,,0.19286,spindle_side,turn,few_steps drift\n");
  const std::string head = kSessionsCsvHead;
  CHECK(std::count(head.begin(), head.end(), ',') == 12);
}

TEST_CASE("the table of sessions fits 80 columns") {
  Solution s = example_solution();
  s.now = example_now();
  s.verdict = Verdict{VerdictState::kCaptureMore, 0.05, ""};
  s.session.cartridge = std::string(100, 'c');
  s.warnings = {{WarningCode::kDistortionMovesWithTilt, ""}, {WarningCode::kDrift, ""}};
  SessionLine units = session_line_of(std::string(200, 's'), s);
  units.set_to_units = -12.3456;
  units.u_units = 0.0123;
  const std::string table = sessions_table({session_line_of("a", s), units});
  std::istringstream lines(table);
  int count = 0;
  for (std::string line; std::getline(lines, line); ++count) CHECK(evenwall::internal::report::display_columns(line) <= 80);
  CHECK(count == 3);
  CHECK(holds(table, "capture_more"));
  CHECK(holds(table, "-12.346"));
}

TEST_CASE("a session without logged tilts has a turn, and no number to set") {
  Solution s = example_solution();
  s.now = example_now();
  s.set_to = SetTo{-0.87, 0.015, {-0.9, -0.84}, {}, {}, {}};
  s.set_to->from_capture = "high.wav";
  CHECK(holds(sessions_csv_line(session_line_of("a", s)), "a,Larkspur,,,,,-0.87,"));
  CHECK(holds(sessions_table({session_line_of("a", s)}), "n/a"));
}
