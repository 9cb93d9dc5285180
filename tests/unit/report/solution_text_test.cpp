// SPDX-License-Identifier: GPL-3.0-or-later
#include <sstream>

#include "evenwall/report.hpp"
#include "report/page.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

/// The page as one line, so that no phrase is split by a line break.
std::string flat(const Solution& solution) {
  std::string all;
  std::istringstream words(solution_text(solution, false));
  for (std::string word; words >> word;) all += word + " ";
  return all;
}

}  // namespace

TEST_CASE("the answer comes first, in one sentence") {
  Solution s = example_solution();
  CHECK(flat(s).starts_with("For this record, set the azimuth to +1.104° (95 % interval +1.063° to +1.146°). The azimuth is "));
  s.recommended.scope = Scope::kAnyRecord;
  CHECK(flat(s).starts_with("Set the azimuth to +1.104° (95 % interval"));
}

TEST_CASE("a positive move is clockwise, raises the spindle side and takes the shim at the outer screw") {
  Solution s = example_solution();
  CHECK(holds(flat(s),
              "Turn the cartridge clockwise as seen from the front, by 1.10° from 0° (the zero of your log). Its spindle side goes up."));
  CHECK(holds(flat(s), "place it at the outer screw. Its height is 0.24 mm for screws "));
  s.shim = {0, -1.2, 0.27, Side::kOuterSide, Side::kSpindleSide};
  CHECK(holds(flat(s),
              "Turn the cartridge anticlockwise as seen from the front, by 1.20° from 0° (the zero of your log). Its outer side goes up."));
  CHECK(holds(flat(s), "place it at the spindle-side screw. Its height is 0.27 mm for screws "));
  CHECK(holds(flat(s), "with azimuth adjustment needs no shim: turn the cartridge by 1.20°."));
  s.shim.from_tilt_deg = 0.5;
  CHECK(holds(flat(s), "by 1.20° from +0.50°. Its outer side"));
}

TEST_CASE("if the sense of the log is undecided, the text names no side") {
  Solution s = example_solution();
  s.tilt_response.sense = Sense::kUndecided;
  s.shim.raises.reset();
  s.shim.place_shim_at.reset();
  CHECK(holds(flat(s), "from step low.wav (-2.00°) towards step high.wav (+2.00°)"));
  CHECK(holds(flat(s), "the program cannot name the side"));
  CHECK_FALSE(holds(flat(s), "Turn the cartridge clockwise"));
  CHECK_FALSE(holds(flat(s), "anticlockwise"));
  CHECK_FALSE(holds(flat(s), "outer screw"));
  s.shim.move_deg = -1;
  CHECK(holds(flat(s), "from step high.wav (+2.00°) towards step low.wav (-2.00°)"));
}

TEST_CASE("the text shows the user's ruler, the contact limit, the next step, warnings and cautions") {
  Solution s = example_solution();
  CHECK_FALSE(holds(flat(s), "ruler"));
  s.steps[0].tilt_units = -4;
  s.recommended.tilt_units = 2.2;
  s.tilt_response.degrees_per_unit = 0.5;
  s.contact = {1.0, false, 1.0};
  s.next_step = NextStep{3, "one more capture at +3.00°", 0.01};
  const std::string text = flat(s);
  CHECK(holds(text, "On the ruler of your log, set +2.200. One unit of the ruler is"));
  CHECK(holds(text, "BEYOND the limit of 1.00° from upright. The nearest azimuth inside it is +1.00°."));
  CHECK(holds(text, "one more capture at +3.00°."));
  CHECK(holds(text, "- few_steps: two tilts only"));
  CHECK(holds(text, "Turn the volume down before the stylus is lowered"));
}

TEST_CASE("if the cartridge is at the recommended azimuth, the text names no shim") {
  Solution s = example_solution();
  s.shim = {1.1, 0.001, 0.0, Side::kSpindleSide, Side::kOuterSide};
  CHECK(holds(flat(s), "Leave the cartridge at +1.10°. It is already at the recommended azimuth."));
  CHECK_FALSE(holds(flat(s), "screw "));
}

TEST_CASE("no line is wider than the page, even with very long names") {
  Solution s = example_solution();
  s.session.record = std::string(300, 'r');
  s.steps[0].capture = std::string(300, 'c');
  std::istringstream lines(solution_text(s, false));
  for (std::string line; std::getline(lines, line);) CHECK(display_columns(line) <= kPageColumns);
}

TEST_CASE("the recordings are listed if they have a SHA-256") {
  Solution s = example_solution();
  CHECK_FALSE(holds(flat(s), "SHA-256"));
  s.steps.at(0).audio_sha256 = std::string(64, 'd');
  CHECK(holds(flat(s), "Recordings that were analysed (the JSON document has all 64 digits) capture SHA-256 of the frames "));
  CHECK(holds(flat(s), "dddddddddddd… "));
}
