// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/capture_measurement.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

TEST_CASE("a capture that is not there gives an error that names it") {
  const Measured result = measured("no/such/capture.wav", "capture.wav", {});
  REQUIRE(std::holds_alternative<ReadingError>(result));
  CHECK(std::get<ReadingError>(result).code == ReadingFault::kUnreadable);
  CHECK(std::get<ReadingError>(result).message.find("capture.wav") != std::string::npos);
}

TEST_CASE("options of the caller take precedence over the session file") {
  SessionFacts facts;
  facts.frequency_hz = 1000;
  facts.rpm = 45;
  facts.bands = {Band::kLeft};
  MeasureOptions asked;
  asked.frequency_hz = 3000;
  asked.rpm = 78;
  CHECK(with_facts(asked, facts).frequency_hz == 3000.0);
  CHECK(with_facts({}, facts).frequency_hz == 1000.0);
  CHECK(with_facts({}, facts).rpm == 45.0);
  CHECK(with_facts({}, facts).bands == facts.bands);
  CHECK(with_facts(asked, facts).rpm == 78.0);
  CHECK_FALSE(with_facts({}, {}).rpm);
}
