// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/turn_words.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("a turn is described by its direction, amount and shim") {
  Now now = example_now();
  CHECK(turn_words(now) == "anticlockwise by 0.87°");
  CHECK(shim_words(now) == "0.19 mm at the spindle-side screw (12.7 mm between the screws)");
  const auto said = turn_sentences(now);
  CHECK(holds(said[0], "Turn the cartridge anticlockwise by 0.87° as seen from the front, from high.wav (95 % interval 0.84° to 0.90°)."));
  CHECK(holds(said[0], "Its outer side goes up."));
  CHECK(holds(said[1], "place it at the spindle-side screw. Its height is 0.19 mm"));
  now.interval95_deg = {-0.8705, -0.8695};
  CHECK(turn_words(now) == "anticlockwise by 0.870°");
  CHECK(holds(turn_sentences(now)[0], "(95 % interval 0.8695° to 0.8705°)"));
  now.turn_units = -1.31;
  now.u_turn_units = 0.02;
  CHECK(holds(turn_sentences(now)[1], "On the ruler of your log, the turn is -1.310 (u 0.020)."));
}

TEST_CASE("without a known sense the turn has no side, and a turn that is too small to make is none") {
  Now now = example_now();
  now.direction.reset();
  now.place_shim_at.reset();
  CHECK(turn_words(now) == "by 0.87° towards lower numbers in the log");
  CHECK(holds(shim_words(now), "at either screw"));
  CHECK(holds(turn_sentences(now)[0], "cannot name the side"));
  now.turn_deg = 0.004;
  CHECK(turn_words(now) == "none");
  CHECK(shim_words(now).empty());
  CHECK(holds(turn_sentences(now)[0], "Leave the cartridge as in high.wav."));
  now.capture.reset();
  CHECK(origin_words(now) == "the azimuth that you stated");
}

TEST_CASE("the present levels are those of the recording from which the turn counts") {
  Solution s = example_solution();
  CHECK_FALSE(present_levels(s));
  s.now = example_now();
  s.steps[2].right_into_left_db = -27.5;
  CHECK(present_levels(s)->right_into_left_db == -27.5);
  s.steps[0].capture = "high.wav";  // one recording with several steps: the nearest to where the turn starts, 1.97°
  CHECK(present_levels(s)->right_into_left_db == -27.5);
  s.now->turn_deg = 3.1;
  CHECK(present_levels(s)->right_into_left_db == -28.4);
  s.now->from = TurnFrom::kVerify;
  s.now->capture = "check.wav";
  s.verification = {{"check.wav", 1.1, -40, -41, -40.2, -40.9, {-42, -39}, {-43, -39}, true}};
  CHECK(present_levels(s)->left_into_right_db == -41);
  s.now->from = TurnFrom::kStated;
  s.now->capture.reset();
  CHECK_FALSE(present_levels(s));
}

TEST_CASE("each correction is a sentence with its recordings and its cause") {
  CHECK(correction_sentences({}).empty());
  const auto said = correction_sentences({{CorrectedCause::kElectronics, {"a.wav", "b.wav"}, "preamp.json", "the crosstalk is subtracted"},
                                          {CorrectedCause::kPolarity, {"b.wav"}, "bands", "it was corrected"}});
  CHECK(said[0] == "Corrected in 2 recordings, by preamp.json: the crosstalk is subtracted.");
  CHECK(said[1] == "Corrected in b.wav, by bands: it was corrected.");
}

TEST_CASE("the headline says whether the setting was verified") {
  Solution s = example_solution();
  CHECK_FALSE(verified_headline(s));
  s.now = example_now();
  s.now->from = TurnFrom::kVerify;
  s.now->capture = "check.wav";
  s.verification = {{"check.wav", 1.1, -40, -41, -40.2, -40.9, {-42, -39}, {-43, -39}, true}};
  s.verdict = Verdict{VerdictState::kTurn, 0.05, "turn"};
  CHECK_FALSE(verified_headline(s));
  s.verdict->state = VerdictState::kEnough;
  CHECK(*verified_headline(s) == "Set and verified: check.wav shows the azimuth within 0.05° of the recommended one.");
  s.verification[0].agrees = false;
  CHECK(*verified_headline(s) ==
        "Verification failed: check.wav is not as predicted. The turn that remains is -0.87° (95 % interval -0.90° to -0.84°).");
  CHECK(verdict_sentence(*s.verdict) == "Verdict (enough): turn.");
}

TEST_CASE("at the adjuster's nearest setting the texts state this setting, and otherwise the turn to it") {
  Solution s = example_solution();
  s.now = example_now();
  s.now->from = TurnFrom::kVerify;
  s.now->capture = "check.wav";
  s.now->turn_deg = 0.2;
  s.verification = {{"check.wav", 1.1, -40, -41, -40.2, -40.9, {-42, -39}, {-43, -39}, true}};
  s.verdict = Verdict{VerdictState::kEnough, 0.05, "enough"};
  CHECK(nearest_setting_sentence(s).empty());
  CHECK_FALSE(is_at_nearest_setting(s));
  s.nearest_setting = NearestSetting{1.0, 0.9, -0.2, 0.13};
  CHECK(is_at_nearest_setting(s));
  CHECK(*verified_headline(s) ==
        "Set and verified: check.wav shows the cartridge at 1, the adjuster's setting nearest to the recommended azimuth.");
  CHECK(nearest_setting_sentence(s) ==
        "No turn is needed: the adjuster is at 1, its setting nearest to the recommended azimuth, which is 0.200° away.");
  s.now->turn_deg = 0.01;  // within the tolerance of the recommended azimuth itself
  CHECK_FALSE(is_at_nearest_setting(s));
  s.verdict->state = VerdictState::kTurn;
  s.now->turn_deg = -0.87;
  CHECK(nearest_setting_sentence(s) == "With the adjuster, set 1: from check.wav, this is a turn of 1.07° anticlockwise.");
}

namespace {

/// A solution without logged tilts: the turn counts from high.wav.
Solution example_of_turn() {
  Solution s = example_solution();
  s.recommended.from_capture = "high.wav";
  s.recommended.scope = Scope::kTurnOnThisRecord;
  s.now = example_now();
  for (SolvedStep& step : s.steps) step.audit_deg.reset();
  return s;
}

}  // namespace

TEST_CASE("without logged tilts the headline is the turn from a recording") {
  Solution s = example_of_turn();
  CHECK(turn_headline(s) ==
        "For this record, turn the cartridge anticlockwise by 0.87° from its position in high.wav (95 % interval 0.84° to 0.90°).");
  s.recommended.scope = Scope::kTurnOnAnyRecord;
  CHECK(holds(turn_headline(s), "Turn the cartridge"));
  s.tilt_response.sense = Sense::kUndecided;
  s.now->direction.reset();
  CHECK(turn_headline(s) ==
        "Turn the cartridge by 0.87° from its position in high.wav, in the direction from high.wav towards low.wav (95 % interval 0.84° "
        "to 0.90°).");
  CHECK(turn_words(*s.now, side_unknown_words(s)) == "by 0.87° in the direction from high.wav towards low.wav");
  const auto said = turn_sentences(*s.now, side_unknown_words(s));
  CHECK(holds(said[0], "do not show which direction is clockwise"));
  CHECK(holds(said[1], "in the direction from high.wav towards low.wav, from high.wav"));
  s.steps.resize(1);
  CHECK(side_unknown_words(s) == "in a direction that is not known");
}

TEST_CASE("without logged tilts, a turn with an interval that contains zero is not advised") {
  Solution s = example_of_turn();
  s.now->turn_deg = 0.02;
  s.now->interval95_deg = {-0.01, 0.05};
  s.now->direction.reset();
  CHECK(holds(turn_headline(s), "turn the cartridge by +0.020° from its position in high.wav (95 % interval -0.010° to +0.050°)."));
  CHECK(side_unknown_words(s) == "in a direction that is not known");
  CHECK(holds(turn_sentences(*s.now, side_unknown_words(s)).at(0), "Leave the cartridge as in high.wav."));
}

TEST_CASE("a solution with a log names no direction from recording to recording") { CHECK(side_unknown_words(example_solution()).empty()); }
