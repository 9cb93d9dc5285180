// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/solution_words.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("a criterion without an answer has a sentence with the reason, one with an answer has none") {
  CHECK(criteria_sentences(example_solution()) ==
        std::vector<std::string>{"Each interval holds for its own criterion.", "Phase match: the shear has no quadrature part."});
}

TEST_CASE("each method that determined the balance has a sentence") {
  Balance b = example_solution().balance;
  CHECK(balance_sentences(b) == std::vector<std::string>{"The levels give +0.42 dB (u 0.30 dB)."});
  b.from_tilt_response_db = 0.4;
  b.u_from_tilt_response_db = 0.02;
  b.interchannel_phase_deg = 1.5;
  CHECK(balance_sentences(b).at(1) == "The change of crosstalk with azimuth gives +0.400 dB (u 0.020 dB).");
  CHECK(balance_sentences(b).at(2) == "In phase, the left channel is +1.50° ahead of the right channel.");
  CHECK(solved_balance_db(b) == 0.42);
  b.used = BalanceSource::kBoth;
  CHECK(solved_balance_db(b) == 0.4);
}

TEST_CASE("a verification that fails is marked, and the text gives the crosstalk that azimuth cannot remove") {
  const Verification v{"check.wav", 1.1, -30, -31, -36, -36.1, {-38, -34}, {-38, -34}, false};
  CHECK(verification_sentence(v).starts_with("NOT as predicted: check.wav at +1.10°"));
  CHECK(holds(rest_sentence({-33.3, -34.4, 0.123}), "below -33.3 dB"));
}

TEST_CASE("an excluded step does not show the levels before the move") {
  Solution s = example_solution();
  s.shim.from_tilt_deg = s.steps[1].tilt_deg;
  s.steps[1].right_into_left_db = -1.5;
  REQUIRE(levels_before(s)->right_into_left_db == -1.5);
  s.steps[1].flags = {StepFlag::kLeaksOff};
  CHECK(levels_before(s)->right_into_left_db != -1.5);
}

TEST_CASE("a text becomes a sentence with one full stop, and cannot act on a terminal") {
  CHECK(as_sentence("one more capture") == "one more capture.");
  CHECK(as_sentence("It is capture No. 4.") == "It is capture No. 4.");
  CHECK(as_sentence("\x1b") == "\\x1B.");
}

TEST_CASE("names of the document cannot act on a terminal") {
  Solution s = example_solution();
  s.session.cartridge = "A\x1b[2J";
  CHECK(holds(session_line(s), "cartridge: A\\x1B[2J; "));
  s.shim.raises.reset();
  s.steps.back().capture = "b\x1b.wav";
  CHECK(holds(hand_sentences(s).at(1), "towards step b\\x1B.wav"));
  CHECK(flags_text({StepFlag::kStepOff, StepFlag::kLeaksOff}) == "step_off leaks_off");
}
