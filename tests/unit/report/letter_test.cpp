// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/letter.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("the letter names the client, the workshop and what was examined") {
  Solution s = example_solution();
  CHECK(letter_head(s).empty());
  CHECK(holds(letter_sentences(s)[0], "We examined Larkspur with a test record."));
  s.session.client = "M. Alder";
  s.session.workshop = "Quarry Lane";
  s.session.date = "2026-11-30";
  s.session.cartridge_model = "Mk 2";
  s.session.record = "Even Furrow";
  s.session.record_side = "A";
  CHECK(letter_head(s) == std::vector<std::string>{"To: M. Alder", "From: Quarry Lane", "Date: 2026-11-30"});
  CHECK(holds(letter_sentences(s)[0], "We examined Larkspur (Mk 2) with the test record Even Furrow, side A."));
  s.session.cartridge.reset();
  CHECK(holds(letter_sentences(s)[0], "We examined your cartridge with"));
}

TEST_CASE("the letter says what was found, and whether the setting is done and verified") {
  Solution s = example_solution();
  CHECK(holds(letter_sentences(s)[1], "At the azimuth below we expect crosstalk of -36.0 dB of the right channel in the left one"));
  CHECK(holds(letter_sentences(s)[1], "still to be set"));
  s.as_found = AsFound{"found.wav", -22, -27, 0.1};
  s.now = example_now();
  s.verdict = Verdict{VerdictState::kEnough, 0.05, ""};
  CHECK(holds(letter_sentences(s)[1], "As the cartridge came, the crosstalk was -22.0 dB of the right channel"));
  CHECK(holds(letter_sentences(s)[1], "No recording after the setting has verified this."));
  s.now->from = TurnFrom::kVerify;
  s.now->capture = "check.wav";
  s.verification = {{"check.wav", 1.1, -40, -41, -40.2, -40.9, {-42, -39}, {-43, -39}, true}};
  CHECK(holds(letter_sentences(s)[1], "verifies this: the crosstalk is now -40.0 dB of the right channel"));
  s.verdict->state = VerdictState::kCheck;
  CHECK(holds(letter_sentences(s)[1], "not final"));
}

TEST_CASE("the page draws the turn from the present state, or the move from the zero in an older document") {
  Solution s = example_solution();
  CHECK(drawn_move(s).move_deg == s.shim.move_deg);
  s.now = example_now();
  const Shim move = drawn_move(s);
  CHECK(move.move_deg == -0.87);
  CHECK(move.raises == Side::kOuterSide);
  CHECK(move.place_shim_at == Side::kSpindleSide);
  s.now->place_shim_at.reset();
  CHECK_FALSE(drawn_move(s).raises);
}
