// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/report.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/measurement_of.hpp"

using namespace evenwall;

namespace {

Reading example_reading() {
  Measurement r;
  r.audio = {48000, 2, 12.5, "WAV PCM 24-bit"};
  Leak leak;
  leak.re = 0.03;
  leak.im = 0.0;
  leak.u_re = leak.u_im = 0.0003;  // 1 % of the crosstalk, along its phasor: 0.087 dB
  leak.db = decibels(0.03);
  leak.phase_deg = 0.0;
  r.crosstalk.frequency_hz = 1000;
  r.crosstalk.right_into_left = leak;
  r.balance_db = 0.25;
  r.u_balance_db = 0.011;
  Passage p;
  p.driven = Driven::kRight;
  p.level_left_dbfs = -45;
  p.level_right_dbfs = -14;
  p.frequency_hz = 1000;
  r.passages = {p};
  r.warnings = {{WarningCode::kMissingPassage, "no left-only passage"}};
  return {{LogEntry{.capture = "a\x1b[31m.wav", .tilt_deg = -1.5}, r}, std::nullopt};
}

}  // namespace

TEST_CASE("a reading shows its crosstalk, azimuth, balance and warnings") {
  const std::string text = reading_text(example_reading(), false);
  CAPTURE(text);
  CHECK(holds(text, "tilt of the cartridge, seen from the front) is -1.50°."));
  CHECK(holds(text, "-30.458 dB  0.087 dB"));  // 20 log10 0.03 and 8.686 dB · 1 %
  CHECK(holds(text, "left into right       not captured"));
  CHECK(holds(text, "+0.250 dB (standard uncertainty 0.011 dB)."));
  CHECK(holds(text, "-14.0"));  // the driven channel's level
  CHECK(holds(text, "missing_passage: no left-only passage"));
}

TEST_CASE("a name cannot act on the terminal") {
  CHECK_FALSE(holds(reading_text(example_reading(), false), "\x1b"));
  CHECK(holds(reading_text(example_reading(), false), "a\\x1B[31m.wav"));
}

TEST_CASE("a reading with an error shows the error only") {
  const Reading r{{LogEntry{.capture = "a.wav"}, ReadingError{ReadingFault::kNoAnswer, "silence"}}, std::nullopt};
  CHECK(reading_text(r, false) == "a.wav\n  No reading was made: silence\n");
}

TEST_CASE("the timeline shows kind, driven channel, times, frequency and level, within 80 columns") {
  Reading r = example_reading();
  Passage both;
  both.relation = Relation::kAntiphase;
  both.start_s = 1132.54;
  both.end_s = 1140.06;
  both.frequency_hz = 10000;
  both.level_left_dbfs = both.level_right_dbfs = -12.5;
  both.snr_db = 45;
  both.distortion_percent = both.wow_percent = 10.25;
  measurement_of(r.step).passages.push_back(both);
  const std::string text = reading_text(r, false);
  CAPTURE(text);
  CHECK(holds(text, "1132.5-1140.1"));
  CHECK(holds(text, "both, antiphase"));
  CHECK(holds(text, "tone 10000.0 Hz"));
  for (std::size_t at = 0; at < text.size(); at = text.find('\n', at) + 1) CHECK(text.find('\n', at) - at <= 80);
}

TEST_CASE("rejected signals are listed with the reason, and an empty list is stated") {
  const std::string text = rejected_text("b\x1b.wav", {{1.23, 4.56, 440, Driven::kLeft, "its level changes"}});
  CAPTURE(text);
  CHECK(holds(text, "1.2-4.6 s, 440.0 Hz, left only: its level changes"));
  CHECK_FALSE(holds(text, "\x1b"));
  CHECK(holds(rejected_text("b.wav", {}), "No tone-like signal was rejected."));
}

TEST_CASE("a reading with a SHA-256 shows all its digits on one line") {
  Reading r = example_reading();
  CHECK_FALSE(holds(reading_text(r, false), "SHA-256"));
  const std::string hash(64, 'e');
  measurement_of(r.step).audio.sha256 = hash;
  CHECK(holds(reading_text(r, false), "SHA-256 of its frames:\n  " + hash + "\n"));
}
