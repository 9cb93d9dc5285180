// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/capture_measurement.hpp"

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

TEST_CASE("a capture that is not there gives an error that names it") {
  const Measured result = measured("no/such/capture.wav", "capture.wav", {});
  REQUIRE(std::holds_alternative<ReadingError>(result));
  CHECK(std::get<ReadingError>(result).code == ReadingFault::kUnreadable);
  CHECK(std::get<ReadingError>(result).message.find("capture.wav") != std::string::npos);
}

TEST_CASE("the error of a part of a recording states where the part begins") {
  const TempFolder folder;
  auto noise = Canvas(16000, 6).noise(0.1, 5).source();
  write_capture(noise, 24, folder / "evening.wav");
  MeasureOptions part;
  part.from_s = 1.5;
  part.to_s = 4;
  for (const auto& [options, begins] : {std::pair(part, "evening.wav at 1.5 s: "), std::pair(MeasureOptions{}, "evening.wav: ")}) {
    const Measured result = measured(folder / "evening.wav", "evening.wav", options);
    REQUIRE(std::holds_alternative<ReadingError>(result));
    CHECK(std::get<ReadingError>(result).code == ReadingFault::kNoAnswer);
    CHECK(std::get<ReadingError>(result).message.starts_with(begins));
  }
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
