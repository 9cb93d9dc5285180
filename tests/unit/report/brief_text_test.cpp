// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <sstream>

#include "evenwall/report.hpp"
#include "report/page.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

void check_fits(const std::string& text) {
  CHECK(std::count(text.begin(), text.end(), '\n') <= 24);
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) CHECK(display_columns(line) <= 80);
}

}  // namespace

TEST_CASE("the brief view begins with the answer and the turn from the present state") {
  Solution s = example_solution();
  s.now = example_now();
  s.verdict = Verdict{VerdictState::kTurn, 0.05, "turn the cartridge"};
  const std::string text = solution_brief(s, false);
  check_fits(text);
  CHECK(text.starts_with("For this record, set the azimuth to +1.104° (95 % interval +1.063° to +1.146°).\n"));
  CHECK(holds(text, "  Turn from high.wav: anticlockwise by 0.87°.\n"));
  CHECK(holds(text, "Verdict (turn): turn the cartridge."));
  CHECK(holds(text, "Step middle.wav, logged at +0.00°: step_off."));
  CHECK(holds(text, "- few_steps: two tilts only"));
  CHECK(holds(text, "now (high.wav)"));
  CHECK(holds(text, "expected at +1.10°"));
  CHECK(holds(text, "volume down"));
}

TEST_CASE("the brief view has at most 24 lines of 80 columns, whatever is to be said") {
  Solution s = example_solution();
  s.now = example_now();
  s.now->capture = std::string(300, 'x') + ".wav";
  s.now->turn_units = -1.31;
  s.now->u_turn_units = 0.02;
  s.recommended.tilt_units = 1.3;
  s.recommended.u_units = 0.1;
  s.recommended.interval95_units = Interval{1.1, 1.5};
  s.session.cartridge = std::string(500, 'c');
  s.as_found = AsFound{"found.wav", -30, -31, 0.1};
  s.verdict = Verdict{VerdictState::kCheck, 0.05, std::string(60, 'v') + " " + std::string(300, 'w')};
  s.corrections.assign(5, {CorrectedCause::kRecord, {"a"}, std::string(90, 'f'), std::string(90, 't')});
  for (int i = 0; i < 40; ++i) {
    s.steps.push_back(s.steps[1]);
    s.warnings.push_back({WarningCode::kNoisy, "warning " + std::to_string(i) + " " + std::string(200, 'z')});
  }
  const std::string text = solution_brief(s, false);
  check_fits(text);
  CHECK(holds(text, "more steps are flagged."));
  CHECK(holds(text, "more warnings. --full shows all."));
}
