// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/step_intake.hpp"

#include "evenwall/error.hpp"
#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

Reading reading_of(const std::string& capture, bool good) {
  const LogEntry log{.capture = capture};
  if (good) return {{log, Measurement{}}, std::nullopt};
  return {{log, ReadingError{ReadingFault::kStepUnreadable, capture + " is gone"}}, std::nullopt};
}

}  // namespace

TEST_CASE("A session lists the first twenty unusable readings and the number of the others") {
  ReadingsIntake intake("r.jsonl");
  for (int i = 0; i < 1000; ++i) intake.add(reading_of("step-" + std::to_string(i), false));
  intake.add(reading_of("good", true));
  const Session session = intake.finish();
  REQUIRE(session.steps.size() == 21);
  CHECK_FALSE(session.steps.back().error());
  REQUIRE(session.warnings.size() == 21);
  CHECK(session.warnings.front().message == "the step is excluded: step-0 is gone");
  CHECK_THAT(session.warnings.back().message, ContainsSubstring("r.jsonl: 980 more steps cannot be used"));
}

TEST_CASE("A step that is excluded as a repeated recording still contributes its measurement warnings") {
  Measurement measured;
  measured.audio.sample_rate_hz = 48000;
  measured.passages.resize(1);
  measured.warnings = {{WarningCode::kNoisy, "noise"}};
  Session session;
  StepIntake intake(session, "log");
  intake.add({LogEntry{.capture = "a.wav", .tilt_deg = 0}, measured});
  intake.add({LogEntry{.capture = "b.wav", .tilt_deg = 1}, measured});
  intake.finish();
  REQUIRE(session.steps.size() == 2);
  CHECK(session.steps[0].measurement());
  REQUIRE(session.steps[1].error());
  CHECK(session.steps[1].error()->code == ReadingFault::kSameRecording);
  REQUIRE(session.warnings.size() == 2);
  CHECK(session.warnings[0].code == WarningCode::kSameRecording);
  CHECK(session.warnings[1].message == "a.wav and 1 more: noise");
}

TEST_CASE("More than 5000 usable steps are refused, and the message names the input") {
  Session session;
  StepIntake intake(session, "r.jsonl");
  const auto add = [&] { intake.add(reading_of("a", true).step); };
  for (int i = 0; i < 5000; ++i) add();
  CHECK_THROWS_WITH(add(), ContainsSubstring("r.jsonl: this input holds more than 5000 usable steps"));
}

TEST_CASE("Warnings name the first twenty readings with other session facts and count the others") {
  Session session;
  FactsIntake facts(session);
  for (int i = 0; i < 100; ++i) {
    Reading reading = reading_of("step-" + std::to_string(i), true);
    reading.session = SessionFacts{};
    reading.session->cartridge = i == 0 ? "Larkspur" : "Corncrake";
    facts.add(reading);
  }
  facts.finish();
  CHECK(session.facts.cartridge == "Larkspur");
  REQUIRE(session.warnings.size() == 21);
  CHECK_THAT(session.warnings.back().message, ContainsSubstring("79 more readings differ"));
}
