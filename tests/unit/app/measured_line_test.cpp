// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/measured_line.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

Passage passage(Driven driven, double left_dbfs, double right_dbfs) {
  Passage p;
  p.driven = driven;
  p.level_left_dbfs = left_dbfs;
  p.level_right_dbfs = right_dbfs;
  return p;
}

Measurement measurement() {
  Measurement m;
  m.crosstalk.frequency_hz = 1000.2;
  m.passages = {passage(Driven::kLeft, -9.24, -40), passage(Driven::kRight, -3, -10), passage(Driven::kLeft, -12, -40)};
  return m;
}

}  // namespace

TEST_CASE("the line names each band once, the tone, the highest level of a driven channel and the warnings") {
  Measurement m = measurement();
  CHECK(measured_line({.capture = "a.wav"}, m) == "a.wav: left and right at 1000 Hz; highest level -9.2 dBFS; no warnings");
  m.passages.push_back(passage(Driven::kBoth, -20, -7.96));
  m.passages.back().relation = Relation::kInPhase;
  m.warnings = {{WarningCode::kHum, "x"}, {WarningCode::kClipped, "y"}, {WarningCode::kHum, "z"}};
  CHECK(measured_line({.capture = "a.wav"}, m) ==
        "a.wav: left, right and both in phase at 1000 Hz; highest level -8.0 dBFS; warnings: hum and clipped");
}

TEST_CASE("a stretch has its times, and a name cannot act on the terminal") {
  LogEntry entry{.capture = "a\x1b.wav"};
  entry.from_s = 10.5;
  entry.to_s = 30;
  CHECK(measured_line(entry, measurement()).starts_with("a\\x1B.wav from 10.5 s to 30 s: left and right"));
}

TEST_CASE("a recording without a measurement gives the reason") {
  CHECK(measured_line({.capture = "a.wav"}, ReadingError{ReadingFault::kNoAnswer, "a.wav: silence."}) == "a.wav: silence.");
}
