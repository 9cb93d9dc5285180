// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/quality.hpp"

#include <cmath>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

HeardPassage good(Driven driven = Driven::kLeft) {
  HeardPassage p;
  p.passage.driven = driven;
  p.passage.end_s = 5;
  p.passage.level_left_dbfs = -12;
  p.passage.level_right_dbfs = -40;
  p.passage.snr_db = 40;
  p.passage.wow_percent = 0.1;
  p.whole_revolution = true;
  return p;
}

std::vector<WarningCode> codes(const HeardPassage& p) {
  std::vector<WarningCode> all;
  for (const Warning& w : passage_warnings({p})) all.push_back(w.code);
  return all;
}

}  // namespace

TEST_CASE("A good passage gives no warning, and each fault gives only its own warning") {
  CHECK(codes(good()).empty());
  HeardPassage of_a_fast_record = good();
  of_a_fast_record.passage.end_s = 0.8;  // a whole turn at 78 rpm
  CHECK(codes(of_a_fast_record).empty());
  const auto only = [](auto spoil, WarningCode code) {
    HeardPassage p = good();
    spoil(p);
    CHECK(codes(p) == std::vector<WarningCode>{code});
  };
  only([](auto& p) { p.clipped_fraction = 0.002; }, WarningCode::kClipped);
  only([](auto& p) { p.passage.level_left_dbfs = -60, p.passage.level_right_dbfs = -90; }, WarningCode::kLowSignal);
  only([](auto& p) { p.passage.snr_db = 10; }, WarningCode::kNoisy);
  only([](auto& p) { p.lost_fraction = 0.1; }, WarningCode::kDropout);
  only([](auto& p) { p.level_step = LevelStep{2, -3}; }, WarningCode::kLevelStep);
  only([](auto& p) { p.silences = {{1.5, 1.501}}; }, WarningCode::kDropout);
  only([](auto& p) { p.lost_fraction = 0.1, p.silences = {{1.5, 1.7}}; }, WarningCode::kDropout);  // one warning, not two
  only([](auto& p) { p.phase_jumps = {{2.0, 1.5}}; }, WarningCode::kSamplesLost);
  only([](auto& p) { p.quiet_steps = 0.3; }, WarningCode::kQuantised);
  only([](auto& p) { p.dc = -0.05; }, WarningCode::kDcOffset);
  only([](auto& p) { p.passage.wow_percent = 0.8; }, WarningCode::kUnevenSpeed);
  only([](auto& p) { p.whole_revolution = false; }, WarningCode::kShortPassage);
  only([](auto& p) { p.found_rpm = 45.2; }, WarningCode::kSpeedFound);
}

TEST_CASE("A warning reports passages in the opposite order of the record's bands") {
  const std::vector<HeardPassage> heard{good(Driven::kLeft), good(Driven::kRight), good(Driven::kBoth)};
  CHECK(order_warnings(heard, {}).empty());
  CHECK(order_warnings(heard, {Band::kLeft, Band::kRight, Band::kLateral}).empty());
  CHECK(order_warnings(heard, {Band::kRight, Band::kLeft}).size() == 1);
  CHECK(order_warnings(heard, {Band::kRight}).empty());  // the number of bands differs, so nothing can be concluded
}

TEST_CASE("A warning reports loud hum with its level, and faint hum gives no warning") {
  HeardPassage p = good();
  p.hum = {60, -30, false};  // 18 dB below the tone
  HeardPassage fainter = p;
  fainter.hum.level_dbfs = -35;
  HeardPassage of_no_size = p;  // single precision overflows to this with samples of 1e20
  of_no_size.hum.level_dbfs = HUGE_VAL;
  CHECK(passage_warnings({of_no_size}).empty());
  const auto warnings = passage_warnings({of_no_size, fainter, p, fainter});
  REQUIRE(warnings.size() == 1);  // one warning, for the loudest hum
  CHECK(warnings[0].code == WarningCode::kHum);
  CHECK(warnings[0].message.find("-30.0 dBFS") != std::string::npos);
  p.hum.level_dbfs = -50;
  CHECK(passage_warnings({p}).empty());
}

TEST_CASE("Both-channel passages with the opposite relation to their bands give a warning of reversed polarity") {
  HeardPassage lateral = good(Driven::kBoth);
  lateral.passage.relation = Relation::kInPhase;
  HeardPassage vertical = lateral;
  vertical.passage.relation = Relation::kAntiphase;
  const std::vector<HeardPassage> heard{good(Driven::kLeft), good(Driven::kRight), lateral, vertical};
  CHECK(order_warnings(heard, {Band::kLeft, Band::kRight, Band::kLateral, Band::kVertical}).empty());
  const auto warnings = order_warnings(heard, {Band::kLeft, Band::kRight, Band::kVertical, Band::kLateral});
  REQUIRE(warnings.size() == 1);
  CHECK(warnings[0].code == WarningCode::kPolarityReversed);
  CHECK(order_warnings(heard, {Band::kVertical}).empty());  // the number of bands differs, so nothing can be concluded
}
