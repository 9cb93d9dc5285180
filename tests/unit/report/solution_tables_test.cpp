// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/solution_tables.hpp"

#include "support/catch.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

using Row = std::vector<std::string>;

}  // namespace

TEST_CASE("the row before the move is the state as found or, without it, the step nearest to the start of the move") {
  Solution s = example_solution();
  CHECK(expectation_table(s).rows.at(1) == Row{"captured at +0.00°", "-28.4 dB", "-30.6 dB", "n/a"});
  CHECK(expectation_table(s).rows.at(2) == Row{"expected at +1.10°", "-36.0 dB", "-36.1 dB", "+0.42 dB"});
  s.as_found = AsFound{"found.wav", -25, -26, -0.5};
  CHECK(expectation_table(s).rows.at(1) == Row{"as found", "-25.0 dB", "-26.0 dB", "-0.50 dB"});
  s.as_found.reset();
  s.steps.clear();
  CHECK(expectation_table(s).rows.size() == 2);
}

TEST_CASE("the criteria show azimuth and interval, or that they are not determined") {
  const TextTable table = criteria_table(example_solution());
  CHECK(table.rows.at(1) == Row{"equal crosstalk", "+1.104°", "0.021°", "+1.063° to +1.146°"});
  CHECK(table.rows.at(3) == Row{"phase match", "not determined", "", ""});
}

TEST_CASE("a tone without equal crosstalk shows that it is not determined") {
  Solution s = example_solution();
  s.by_frequency = {{1000, 1.1, 0.02, 1.2, 0.02}, {3000, std::nullopt, std::nullopt, 1.3, 0.05, -31.25, -34.5}};
  CHECK(frequency_table(s).rows.at(1) == Row{"1000.0 Hz", "+1.100°", "0.020°", "+1.200°", "0.020°", "n/a", "n/a"});
  CHECK(frequency_table(s).rows.at(2) == Row{"3000.0 Hz", "not determined", "", "+1.300°", "0.050°", "-31.2 dB", "-34.5 dB"});
}

TEST_CASE("the steps show correction and flags, the budget its sum") {
  const Solution s = example_solution();
  CHECK(step_table(s).rows.at(2) == Row{"middle.wav", "+0.00°", "+0.010°", "0.020°", "-28.4 dB", "-30.6 dB", "yes", "step_off"});
  CHECK(uncertainty_table(s).rows.at(1) == Row{"gauge", "0.0200°", "3.0", "no"});
  CHECK(uncertainty_table(s).rows.at(3) == Row{"combined", "0.0211°", "∞", ""});
}

TEST_CASE("a term of the budget without a statement is shown as not stated, and one that was stated as zero is shown as zero") {
  Solution s = example_solution();
  s.uncertainty = {{"gauge zero", 0, std::nullopt, true},
                   {"record", 0, std::nullopt, true},
                   {"electronics", 0, std::nullopt, true},
                   {"gauge scale", 0, std::nullopt, true}};
  s.session.record_u_deg = 0;
  const TextTable table = uncertainty_table(s);
  CHECK(table.rows.at(1).at(1) == "not stated");
  CHECK(table.rows.at(2).at(1) == "0.0000°");
  CHECK(table.rows.at(3).at(1) == "not stated");
  CHECK(table.rows.at(4).at(1) == "0.0000°");
}

TEST_CASE("steps without a logged tilt show their azimuth by the signal, and nothing to correct") {
  Solution s = example_solution();
  s.steps[2].audit_deg.reset();  // beside steps with a tilt
  CHECK(step_table(s).rows.at(3) == Row{"high.wav", "not logged", "n/a", "0.020°", "-28.4 dB", "-30.6 dB", "yes", ""});
  CHECK(full_step_table(s).rows.at(3).at(2) == "+2.01°");
  s.recommended.from_capture = "high.wav";
  s.steps[2].tilt_deg = s.steps[2].u_audit_deg = 0;
  CHECK(step_table(s).rows.at(0) == Row{"capture", "azimuth", "u", "R into L", "L into R", "fit", "flags"});
  CHECK(step_table(s).rows.at(1) == Row{"low.wav", "-2.000°", "0.020°", "-28.4 dB", "-30.6 dB", "yes", ""});
  CHECK(step_table(s).rows.at(3) == Row{"high.wav", "+0.000°", "", "-28.4 dB", "-30.6 dB", "yes", ""});
  CHECK(expectation_table(s).rows.back().at(0) == "expected after the turn");
}

TEST_CASE("each recording is listed once with the first 12 digits of its SHA-256, and a joined one with both") {
  Solution s = example_solution();
  CHECK(hash_table(s).rows.size() == 1);
  const std::string a = "0123456789abcdef" + std::string(48, '7'), b(64, 'b');
  s.steps.at(0).audio_sha256 = a;
  s.steps.at(1).capture = s.steps.at(0).capture;  // another stretch of the same recording
  s.steps.at(1).audio_sha256 = a;
  s.steps.at(2).audio_sha256 = a + " + " + b;
  s.as_found = AsFound{"found.wav", -25, -26, -0.5, b};
  const TextTable table = hash_table(s);
  REQUIRE(table.rows.size() == 4);
  CHECK(table.rows.at(1) == Row{s.steps.at(0).capture, "0123456789ab…"});
  CHECK(table.rows.at(2).at(1) == "0123456789ab… + bbbbbbbbbbbb…");
  CHECK(table.rows.at(3) == Row{"found.wav", "bbbbbbbbbbbb…"});
}
