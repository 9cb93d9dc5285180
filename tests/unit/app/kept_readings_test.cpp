// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/kept_readings.hpp"

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/measurement_of.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

Reading reading_of_audio(double audio, double tilt_deg) {
  Measurement measured;
  measured.audio.sample_rate_hz = 48000;
  measured.passages.resize(1);
  measured.crosstalk.frequency_hz = 1000;
  measured.crosstalk.right_into_left.emplace().same_passage = {{audio, 0.001}, 1e-5, 1e-5, 0};
  measured.crosstalk_spectrum = {measured.crosstalk};
  return {{LogEntry{.capture = "a.wav", .tilt_deg = tilt_deg}, measured}, std::nullopt};
}

}  // namespace

TEST_CASE("A reading is found under any name if its log entry, frequency and facts are the same") {
  const TempFolder folder;
  const auto path = folder / "r.jsonl";
  KeptReadings kept(path);
  const Reading first = reading_of_audio(0.01, 1);
  CHECK_FALSE(kept.holding(first));  // there is no file yet
  append_line(path, to_json(first));
  REQUIRE(kept.holding(first));
  CHECK(kept.holding(first)->capture == "a.wav");
  CHECK_FALSE(kept.holding(first)->has_sha256);
  Reading other = first;
  other.step.log.capture = "b.wav";
  measurement_of(other.step).warnings.push_back({WarningCode::kHum, "hum"});
  REQUIRE(kept.holding(other));
  CHECK(kept.holding(other)->capture == "a.wav");
  const auto differing = [&](auto change) {
    Reading changed = first;
    change(changed);
    return !kept.holding(changed).has_value();
  };
  CHECK(differing([](Reading& r) { r.step.log.tilt_deg = 1.1; }));
  CHECK(differing([](Reading& r) { r.step.log.tilt_u = 0.1; }));
  CHECK(differing([](Reading& r) { r.step.log.use = StepUse::kNo; }));
  CHECK(differing([](Reading& r) { r.session = SessionFacts{}; }));
  CHECK(differing([](Reading& r) { measurement_of(r.step).crosstalk.frequency_hz = 315; }));
  CHECK(differing([](Reading& r) { measurement_of(r.step).crosstalk_spectrum[0].right_into_left->same_passage.value = 0.02; }));
}

TEST_CASE("Lines that other programs add are read, and torn, foreign or half-written lines are skipped") {
  const TempFolder folder;
  const auto path = folder.write("r.jsonl", "{\"torn\nnot JSON\n[1]\n\n");
  KeptReadings kept(path);
  const Reading first = reading_of_audio(0.01, 1), second = reading_of_audio(0.02, 1);
  CHECK_FALSE(kept.holding(first));
  const std::string half = to_json(second).substr(0, 100), rest = to_json(second).substr(100) + "\n";
  folder.write("r.jsonl", folder.read("r.jsonl") + to_json(first) + "\n" + half);
  CHECK(kept.holding(first));
  CHECK_FALSE(kept.holding(second));
  folder.write("r.jsonl", folder.read("r.jsonl") + rest);
  CHECK(kept.holding(second));
  folder.write("r.jsonl", to_json(second) + "\n");  // the file is written anew and is shorter
  CHECK_FALSE(kept.holding(first));
  CHECK(kept.holding(second));
}

TEST_CASE("A reading with a SHA-256 is the same reading, and whether the file has the SHA-256 is known") {
  const TempFolder folder;
  const auto path = folder / "r.jsonl";
  KeptReadings kept(path);
  Reading first = reading_of_audio(0.01, 1), second = reading_of_audio(0.02, 1);
  append_line(path, to_json(first));
  measurement_of(first.step).audio.sha256 = std::string(64, 'a');
  REQUIRE(kept.holding(first));
  CHECK_FALSE(kept.holding(first)->has_sha256);
  measurement_of(second.step).audio.sha256 = std::string(64, 'b');
  append_line(path, to_json(second));
  REQUIRE(kept.holding(second));
  CHECK(kept.holding(second)->has_sha256);
}
