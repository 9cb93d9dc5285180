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

TEST_CASE("one number is shown if the gauge shows the azimuth, otherwise the number to set comes first") {
  Solution s = example_solution();
  s.recommended.tilt_units = 1.133;
  s.recommended.interval95_units = Interval{1.111, 1.155};
  s.tilt_response.degrees_per_unit = 0.975;
  s.tilt_response.u_degrees_per_unit = 0.015;  // the scale is 1 within its uncertainty
  const std::string one = solution_brief(s, false);
  CHECK(one.starts_with("For this record, set the azimuth to +1.104° (95 % interval +1.063° to +1.146°).\n"));
  CHECK_FALSE(holds(one, "1.133"));
  CHECK_FALSE(holds(one, "gauge"));
  s.tilt_response.u_degrees_per_unit = 0.006;
  const std::string two = solution_brief(s, false);
  check_fits(two);
  CHECK(
      two.starts_with("For this record, set the azimuth to +1.133° on the gauge of your log (95 %\n"
                      "interval +1.111° to +1.155°; by the crosstalk, this is an azimuth of +1.104°).\n"));
  CHECK(holds(two, "  One degree of the gauge is +0.9750°, with standard uncertainty 0.0060°.\n"));
  CHECK(holds(two, "expected after the turn"));
  s.steps[0].tilt_units = -4;  // a ruler of the user's own
  s.recommended.tilt_units = 4.529;
  s.recommended.interval95_units.reset();
  s.tilt_response.degrees_per_unit = 0.25;
  const std::string units = solution_brief(s, false);
  CHECK(
      units.starts_with("For this record, set the azimuth to +4.529 on the ruler of your log (by the\n"
                        "crosstalk, this is an azimuth of +1.104°).\n"));
  CHECK(holds(units, "One unit of the ruler is +0.2500°"));
}

TEST_CASE("a difference beyond the tolerance is shown, even if the scale is known so badly that it may be 1") {
  Solution s = example_solution();
  s.recommended.tilt_units = 1.2;
  s.tilt_response.degrees_per_unit = 0.92;
  s.tilt_response.u_degrees_per_unit = 0.05;
  CHECK(holds(solution_brief(s, false), "+1.200° on the gauge of your log"));
  s.verdict = Verdict{VerdictState::kTurn, 0.2, "turn"};
  CHECK_FALSE(holds(solution_brief(s, false), "gauge"));
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

TEST_CASE("Warnings that may change the direction or the answer come first, and notes on the files last") {
  Solution s = example_solution();
  s.warnings = {{WarningCode::kUnknownKey, "a key"},
                {WarningCode::kFewSteps, "two tilts only"},
                {WarningCode::kStepOff, "a step"},
                {WarningCode::kSwappedOrReversed, "leads"},
                {WarningCode::kVerificationFailed, "no agreement"}};
  const std::string text = solution_brief(s, false);
  check_fits(text);
  const char* in_order[] = {"- verification_failed:", "- swapped_or_reversed:", "- step_off:", "- few_steps:"};
  std::size_t last = 0;
  for (const char* line : in_order) {
    const std::size_t at = text.find(line);
    INFO(line);
    REQUIRE(at != std::string::npos);
    CHECK(at > last);
    last = at;
  }
  const std::size_t note = text.find("- unknown_key:");
  CHECK((note == std::string::npos || note > last));  // it may be among those that are only counted
}
