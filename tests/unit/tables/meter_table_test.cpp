// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/measurement_of.hpp"
#include "support/refusal.hpp"

using namespace evenwall;

namespace {

MeterTable table_of(std::string_view text) { return meter_table_from_csv(text, "meter.csv", 1000); }
const Leak& rl(const Step& step) { return *measurement_of(step).crosstalk.right_into_left; }
const Leak& lr(const Step& step) { return *measurement_of(step).crosstalk.left_into_right; }
double db(const Complex& z) { return 20 * std::log10(std::abs(z)); }

}  // namespace

TEST_CASE("The levels of a meter table become magnitudes of crosstalk with the default uncertainty") {
  const MeterTable table = table_of("tilt_deg,right_into_left_db,left_into_right_db\n-1,-30,-36\n1,-35.5,-31\n");
  REQUIRE(table.steps.size() == 2);
  CHECK(table.warnings.empty());
  const Step& step = table.steps[0];
  CHECK(step.log.capture == "line 2");
  CHECK(step.log.tilt_deg == -1.0);
  CHECK_FALSE(measurement_of(step).phases_measured);
  CHECK_THAT(db(rl(step).same_passage.value), WithinAbs(-30, 1e-12));
  CHECK_THAT(db(lr(step).same_passage.value), WithinAbs(-36, 1e-12));
  // 0.2 dB of a magnitude is 2.303 %.
  CHECK_THAT(rl(step).same_passage.u_re / std::abs(rl(step).same_passage.value), WithinAbs(0.2 / 8.685889638, 1e-9));
  CHECK_FALSE(rl(step).re);
  CHECK_FALSE(measurement_of(step).balance_db);
}

TEST_CASE("The phases, the balance and the uncertainty of a row reach their fields") {
  const MeterTable table = table_of(
      "tilt_units;right_into_left_db;left_into_right_db;right_into_left_phase_deg;left_into_right_phase_deg;balance_db;u_db\n"
      "0,5;-30;-31;90;-180;2,0;0,1\n");
  REQUIRE(table.steps.size() == 1);
  const Step& step = table.steps[0];
  CHECK(step.log.tilt_units == 0.5);
  CHECK(measurement_of(step).phases_measured);
  CHECK_THAT(std::arg(rl(step).same_passage.value), WithinAbs(std::acos(-1.0) / 2, 1e-12));
  CHECK_THAT(std::abs(std::arg(lr(step).same_passage.value)), WithinAbs(std::acos(-1.0), 1e-12));
  // Left is 2 dB louder. Once the gains are removed, right into left is that much less and left into right that much more.
  CHECK_THAT(*rl(step).db, WithinAbs(-32, 1e-12));
  CHECK_THAT(*lr(step).db, WithinAbs(-29, 1e-12));
  CHECK(measurement_of(step).balance_db == 2.0);
  CHECK(measurement_of(step).u_balance_db == 0.1);
}

TEST_CASE("Crosstalk that refers to the level of its own channel is converted to refer to the driven channel") {
  // own: L on the right-only band over L on the left-only band. driven: that times the balance, L on left-only over R on right-only.
  const MeterTable table = table_of(
      "tilt_deg,right_into_left_db,left_into_right_db,balance_db,reference\n0,-30,-30,1.5,own\n1,-30,-30,1.5,driven\n2,-30,-30,,own\n");
  REQUIRE(table.steps.size() == 3);
  CHECK_THAT(db(rl(table.steps[0]).same_passage.value), WithinAbs(-28.5, 1e-12));
  CHECK_THAT(db(lr(table.steps[0]).same_passage.value), WithinAbs(-31.5, 1e-12));
  CHECK_THAT(db(rl(table.steps[1]).same_passage.value), WithinAbs(-30, 1e-12));
  CHECK(measurement_of(table.steps[2]).balance_db == 0.0);
  CHECK(measurement_of(table.steps[2]).u_balance_db == 0.0);
}

TEST_CASE("Meter tables are read as people keep them") {
  const MeterTable table = table_of(
      "Tilt_deg, Right_into_Left_dB,LEFT_INTO_RIGHT_DB,,\n\xe2\x88\x92"
      "1\xc2\xb0,\"\xe2\x88\x92"
      "30,5\",-36,,\n,,,,\n2,-30,-36\n");
  CHECK(table.warnings.empty());
  REQUIRE(table.steps.size() == 2);
  CHECK(table.steps[0].log.tilt_deg == -1);
  CHECK_THAT(decibels(std::abs(measurement_of(table.steps[0]).crosstalk.right_into_left->same_passage.value)), WithinAbs(-30.5, 1e-9));
  CHECK(table.steps[1].log.capture == "line 4");
}

TEST_CASE("A bad row excludes its own step only, and the warning names its line") {
  const MeterTable table = table_of(
      "tilt_deg,right_into_left_db,left_into_right_db,u_db,reference\n"
      "-1,-30,-36,0.1,\n0,x,-36,0.1,\n1,-30,,0.1,\n2,-30,4,0.1,\n3,-30,-36,0,\n4,-30,-36,0.1,mine\n,-30,-36,0.1,\n5,-30\n6,-30,nan,0.1,\n");
  CHECK(table.steps.size() == 9);
  CHECK(table.warnings.size() == 8);
  const char* expected[] = {
      "meter.csv:3: column right_into_left_db has \"x\", which is not a number. The step is excluded. Correct the table.",
      "meter.csv:4: column left_into_right_db is empty",
      "meter.csv:5: left_into_right_db is 4; -150 to 0 dB is possible. The step is excluded. Correct the table.",
      "meter.csv:6: u_db is 0; more than 0 and up to 120 dB is possible. The step is excluded.",
      "meter.csv:7: column reference has \"mine\", which is not one of driven, own",
      "meter.csv:8: the tilt is empty. The step is excluded. Give the tilt.",
      "meter.csv:9: the row has 2 fields, but the header has 5",
      "meter.csv:10: column left_into_right_db has \"nan\", which is not a number"};
  for (std::size_t i = 0; i < std::min<std::size_t>(8, table.warnings.size()); ++i) {
    INFO(table.warnings[i].message << " should hold " << expected[i]);
    CHECK(table.warnings[i].message.find(expected[i]) != std::string::npos);
  }
}

TEST_CASE("A table without a column, without readings or with a repeated column is refused, and the message names the fault") {
  const auto refused = [](std::string_view text) { return refusal_of([&] { table_of(text); }); };
  CHECK(refused("tilt_deg,right_into_left_db\n0,-30\n").find("no column \"left_into_right_db\"") != std::string::npos);
  CHECK(refused("right_into_left_db,left_into_right_db\n-30,-30\n").find("tilt_units") != std::string::npos);
  CHECK(refused("tilt_deg,tilt_deg,right_into_left_db,left_into_right_db\n0,0,-30,-30\n").find("twice") != std::string::npos);
  CHECK(refused("tilt_deg,right_into_left_db,left_into_right_db\n").find("no readings") != std::string::npos);
  const MeterTable table = table_of("tilt_deg,right_into_left_db,left_into_right_db,mood\n0,-30,-30,good\n");
  REQUIRE(table.warnings.size() == 1);
  CHECK(table.warnings[0].code == WarningCode::kUnknownKey);
}
