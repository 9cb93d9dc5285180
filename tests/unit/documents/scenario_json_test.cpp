// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "unit/documents/sample_documents.hpp"

using namespace evenwall;

namespace {

std::string refused_scenario(std::string_view text) {
  return refusal_of([&] { scenario_from_json(text, "s.json"); });
}
constexpr const char* kSmall = R"({"schema":"evenwall/scenario/1","name":"attic find","bits":16,
  "record":{"bands":[{"band":"left","duration_s":2},{"band":null},{"band":"vertical","frequency_hz":3000}],"warp_deg":0.2},
  "cartridge":{"coupling_right_into_left":{"re":0.01,"im":-0.002},"electronics":[[{"re":1,"im":0},{"re":0.001,"im":0}],[{"re":0,"im":0},{"re":1,"im":0}]],"channels_swapped":true},
  "noise":{"surface_noise_db":-50},"steps":[{"tilt_deg":-1},{"tilt_deg":1,"use":"verify"}],"units_per_deg":4,"session":{"cartridge":"A"}})";

}  // namespace

TEST_CASE("A scenario is read, and absent keys keep their default values") {
  const Scenario s = scenario_from_json(kSmall, "s.json");
  CHECK((s.name == "attic find" && s.bits == 16 && s.sample_rate_hz == 48000));
  REQUIRE(s.record.bands.size() == 3);
  CHECK(s.record.bands[0].band == Band::kLeft);
  CHECK(s.record.bands[0].duration_s == 2);
  CHECK(s.record.bands[0].level_dbfs == SimulatedBand{}.level_dbfs);
  CHECK_FALSE(s.record.bands[1].band);
  CHECK(s.record.rpm == SimulatedRecord{}.rpm);
  CHECK(s.cartridge.coupling_right_into_left == Complex(0.01, -0.002));
  CHECK(s.cartridge.electronics[1] == Complex(0.001, 0));
  CHECK(s.cartridge.channels_swapped);
  CHECK(s.noise.surface_noise_db == -50);
  CHECK_FALSE(s.noise.hum_db);
  CHECK(s.steps[1].use == StepUse::kVerify);
  CHECK(s.units_per_deg == 4);
  CHECK(s.session.cartridge == "A");
  CHECK(schema_fault("scenario", [] {
          std::string line = kSmall;
          std::erase(line, '\n');
          return line;
        }()) == "");
  CHECK(scenario_from_json("{}", "s.json").record.bands.empty());
}

TEST_CASE("The refusal of a wrong scenario names the key") {
  CHECK(holds(refused_scenario(R"({"recrod":{}})"), "key /recrod is unknown"));
  CHECK(holds(refused_scenario(R"({"record":{"bands":[{"freq":1}]}})"), "key /record/bands/0/freq is unknown"));
  CHECK(holds(refused_scenario(R"({"record":{"bands":[{"band":"up"}]}})"), "/record/bands/0/band is not one of"));
  CHECK(holds(refused_scenario(R"({"bits":24.5})"), "key /bits is 24.5; a whole number from 16 to 32 is possible"));
  CHECK(holds(refused_scenario(R"({"bits":18446744073709551616})"), "key /bits is 1.84467e+19; a whole number"));
  CHECK(holds(refused_scenario(R"({"noise":{"hum_db":1e9}})"), "key /noise/hum_db is 1e+09; -200 to 60 dB is possible"));
  CHECK(holds(refused_scenario(R"({"bits":12})"), "key /bits is 12"));
  CHECK(holds(refused_scenario(R"({"gauge_scale":null})"), "key /gauge_scale is null"));
  CHECK(holds(refused_scenario(R"({"cartridge":{"electronics":[[1]]}})"), "electronics"));
  CHECK(holds(refused_scenario(R"({"cartridge":{"coupling_right_into_left":0.1}})"), "not a complex number"));
  CHECK(holds(refused_scenario(R"({"session":{"rpm":"x"}})"), "key /session/rpm"));
  CHECK(holds(refused_scenario(R"({"schema":"evenwall/scenario/9"})"), "another version"));
}

TEST_CASE("Documents of true values fit their schema and contain the whole scenario") {
  SimulatedTruth truth;
  truth.least_crosstalk_deg = 0.25;
  truth.steps = {{-1, -0.99, {0.01, 0}, {-0.01, 0.001}}};
  const std::string text = to_json(truth, scenario_from_json(kSmall, "s.json"), 18446744073709551615ULL);
  CHECK(holds(text, "\"seed\":18446744073709551615"));
  CHECK(holds(text, R"("equal_crosstalk_deg":null)"));
  CHECK(schema_fault("truth", text) == "");
}
