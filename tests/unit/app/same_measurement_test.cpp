// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/same_measurement.hpp"

#include <algorithm>
#include <random>

#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "evenwall/measure.hpp"
#include "evenwall/simulate.hpp"
#include "support/catch.hpp"
#include "support/measurement_of.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

Canvas bands(double leak) { return Canvas(48000, 7).tone(0.5, 2.5, 1000, 0.2, 0.2 * leak).tone(4, 2.5, 1000, -0.2 * leak, 0.2); }

Measurement measured(const Canvas& canvas, MeasureOptions options = {}) {
  MemorySource source = canvas.source();
  return measure(source, options);
}

/// A random measurement. Each of its numbers is one of a few values, so that some measurements agree.
Measurement drawn(std::mt19937& draw) {
  const auto number = [&] { return 0.1 * static_cast<double>(draw() % 2); };
  Measurement result;
  result.audio.sample_rate_hz = 48000;
  result.passages.resize(1);
  result.passages[0].start_s = number();
  result.passages[0].level_left_dbfs = number();
  result.crosstalk.right_into_left.emplace().same_passage.value = {number(), number()};
  return result;
}

}  // namespace

TEST_CASE("Files with the same samples are the same measurement, even if their encodings and warnings differ") {
  const Canvas canvas = bands(0.02).noise(1e-4, 5);
  const Measurement first = measured(canvas);
  Measurement second = measured(canvas);
  second.audio.encoding = "FLAC 24-bit";
  second.warnings.push_back({WarningCode::kHum, "hum at -40 dB"});
  CHECK(same_measurement(first, second));
  CHECK_FALSE(same_measurement(first, measured(bands(0.02).noise(1e-4, 6))));  // the same groove, played once more
}

TEST_CASE("Rounding that differs between processors does not make another measurement") {
  const Measurement first = measured(bands(0.02).noise(1e-4, 5));
  const auto moved = [&](double by) {
    Measurement result = first;
    for (LeakPair& pair : result.crosstalk_spectrum) pair.right_into_left->same_passage.value *= 1 + by;
    for (Passage& passage : result.passages) passage.level_left_dbfs *= 1 + by;
    return result;
  };
  CHECK(same_measurement(first, moved(9e-10)));
  CHECK_FALSE(same_measurement(first, moved(1e-8)));
}

TEST_CASE("Simulated captures without noise differ if their tilts differ by a thousandth of a degree") {
  const Scenario scenario = scenario_from_json(
      R"({"schema": "evenwall/scenario/1", "name": "no noise", "sample_rate_hz": 16000, "bits": 24,
          "record": {"bands": [{"band": "left", "duration_s": 3}, {"band": null, "duration_s": 0.3}, {"band": "right", "duration_s": 3}]},
          "cartridge": {"generator_error_left_deg": -1.0}, "steps": [{"tilt_deg": 1}, {"tilt_deg": 1.001}, {"tilt_deg": 1}]})",
      "scenario");
  const SimulatedSession session(scenario, 1);
  const auto reading = [&](std::size_t i) { return measure(*session.capture(i), {}); };
  const Measurement first = reading(0);
  REQUIRE_FALSE(first.passages.empty());
  CHECK_FALSE(same_measurement(first, reading(1)));
  CHECK(same_measurement(first, reading(0)));
}

TEST_CASE("Different stretches of a capture are different measurements") {
  const Canvas canvas = bands(0.02).noise(1e-4, 5);
  MeasureOptions stretch;
  stretch.from_s = 0.7;
  CHECK_FALSE(same_measurement(measured(canvas), measured(canvas, stretch)));
  CHECK(same_measurement(measured(canvas, stretch), measured(canvas, stretch)));
}

TEST_CASE("Equal rows of a meter table are not taken for one measurement, because they have no audio") {
  const Measurement heard = measured(bands(0.02));
  CHECK(same_measurement(heard, heard));
  const MeterTable meter =
      meter_table_from_csv("tilt_deg,right_into_left_db,left_into_right_db\n0,-30,-31\n0,-30,-31\n", "meter.csv", 1000);
  REQUIRE(meter.steps.size() == 2);
  CHECK_FALSE(same_measurement(measurement_of(meter.steps[0]), measurement_of(meter.steps[1])));
}

TEST_CASE("Measurements with numbers near the limit of a double are never the same audio") {
  Measurement huge = measured(bands(0.02).noise(1e-4, 5));
  for (Passage& passage : huge.passages) {
    passage.level_left_dbfs = 1e308;
    passage.level_right_dbfs = -1e308;
  }
  CHECK(measurements_of_same_audio({&huge, &huge, &huge}).empty());
}

TEST_CASE("Sorting gives the same groups of equal measurements as the comparison of all pairs") {
  std::mt19937 draw(20261129);
  for (int round = 0; round < 200; ++round) {
    std::vector<Measurement> measurements;
    for (int i = 0; i < 12; ++i) measurements.push_back(drawn(draw));
    std::vector<const Measurement*> pointers;
    for (const Measurement& measurement : measurements) pointers.push_back(&measurement);
    std::vector<std::vector<std::size_t>> expected;
    std::vector<bool> taken(measurements.size());
    for (std::size_t i = 0; i < measurements.size(); ++i) {
      std::vector<std::size_t> group;
      for (std::size_t j = i; j < measurements.size(); ++j) {
        if (!taken[j] && same_measurement(measurements[i], measurements[j])) group.push_back(j);
      }
      for (const std::size_t j : group) taken[j] = true;
      if (group.size() > 1) expected.push_back(group);
    }
    INFO("round " << round);
    REQUIRE(measurements_of_same_audio(pointers) == expected);
  }
}
