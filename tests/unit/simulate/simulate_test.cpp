// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/simulate.hpp"

#include "evenwall/error.hpp"
#include "support/catch.hpp"

using namespace evenwall;

TEST_CASE("A value out of its range is refused, and the message names it") {
  const auto refuses = [](auto change, const char* name) {
    Scenario s = random_scenario(1, 5.4);
    change(s);
    CHECK_THROWS_WITH(SimulatedSession(s, 1), ContainsSubstring(name));
  };
  refuses([](Scenario& s) { s.sample_rate_hz = 100; }, "sample_rate_hz");
  refuses([](Scenario& s) { s.steps.clear(); }, "steps");
  refuses([](Scenario& s) { s.bits = 12; }, "bits");
  refuses([](Scenario& s) { s.record.bands.clear(); }, "bands");
  refuses([](Scenario& s) { s.record.bands[1].frequency_hz = 23000; }, "frequency_hz");
  refuses([](Scenario& s) { s.record.bands[1].duration_s = -1; }, "duration_s");
  refuses([](Scenario& s) { s.noise.clicks_per_s = 1e9; }, "clicks_per_s");
  refuses([](Scenario& s) { s.gauge_scale = 0; }, "gauge_scale");
}

TEST_CASE("A seed determines the random scenario, and the optimum lies within its tilts") {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    const SimulatedSession session(random_scenario(seed, 5.4), seed);
    INFO("seed " << seed);
    CHECK(std::abs(session.truth().least_crosstalk_deg) < 2.0);
    CHECK(session.truth().frequency_hz == 1000);
  }
  CHECK(random_scenario(1, 5.4).cartridge.generator_error_left_deg == random_scenario(1, 5.4).cartridge.generator_error_left_deg);
  CHECK(random_scenario(1, 5.4).cartridge.generator_error_left_deg != random_scenario(2, 5.4).cartridge.generator_error_left_deg);
}
