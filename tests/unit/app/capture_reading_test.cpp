// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/capture_reading.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

TEST_CASE("a capture that is not there is a reading with an error that names it") {
  const Reading reading = reading_of("no/such/capture.wav", "capture.wav", {});
  CHECK(reading.capture == "capture.wav");
  REQUIRE(reading.error);
  CHECK(reading.error->code == "unreadable");
  CHECK(reading.error->message.find("capture.wav") != std::string::npos);
}

TEST_CASE("the caller's word goes before the session's") {
  SessionFacts facts;
  facts.frequency_hz = 1000;
  facts.rpm = 45;
  facts.bands = {Band::kLeft};
  MeasureOptions asked;
  asked.frequency_hz = 3000;
  CHECK(with_facts(asked, facts).frequency_hz == 3000.0);
  CHECK(with_facts({}, facts).frequency_hz == 1000.0);
  CHECK(with_facts({}, facts).rpm == 45);
  CHECK(with_facts({}, facts).bands == facts.bands);
  CHECK(with_facts({}, {}).rpm == Approx(100.0 / 3));
}
