// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/scenario_check.hpp"

#include <functional>
#include <limits>
#include <string>
#include <utility>

#include "evenwall/error.hpp"
#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::simulate;

namespace {

struct Value {
  const char* name;
  std::function<void(Scenario&, double)> set;
};

const Value kValues[] = {
    {"sample_rate_hz", [](Scenario& s, double x) { s.sample_rate_hz = x; }},
    {"record.bands[1].frequency_hz", [](Scenario& s, double x) { s.record.bands[1].frequency_hz = x; }},
    {"record.bands[1].duration_s", [](Scenario& s, double x) { s.record.bands[1].duration_s = x; }},
    {"record.bands[1].level_dbfs", [](Scenario& s, double x) { s.record.bands[1].level_dbfs = x; }},
    {"record.bands[1].fade_s", [](Scenario& s, double x) { s.record.bands[1].fade_s = x; }},
    {"record.rpm", [](Scenario& s, double x) { s.record.rpm = x; }},
    {"record.cut_error_left_deg", [](Scenario& s, double x) { s.record.cut_error_left_deg = x; }},
    {"record.cut_error_right_deg", [](Scenario& s, double x) { s.record.cut_error_right_deg = x; }},
    {"record.cut_level_difference_db", [](Scenario& s, double x) { s.record.cut_level_difference_db = x; }},
    {"record.wow_percent", [](Scenario& s, double x) { s.record.wow_percent = x; }},
    {"record.flutter_percent", [](Scenario& s, double x) { s.record.flutter_percent = x; }},
    {"record.warp_deg", [](Scenario& s, double x) { s.record.warp_deg = x; }},
    {"record.warp_second_deg", [](Scenario& s, double x) { s.record.warp_second_deg = x; }},
    {"record.speed_error_percent", [](Scenario& s, double x) { s.record.speed_error_percent = x; }},
    {"cartridge.generator_error_left_deg", [](Scenario& s, double x) { s.cartridge.generator_error_left_deg = x; }},
    {"cartridge.generator_error_right_deg", [](Scenario& s, double x) { s.cartridge.generator_error_right_deg = x; }},
    {"cartridge.coupling_right_into_left",
     [](Scenario& s, double x) {
       s.cartridge.coupling_right_into_left = {x, 0};
     }},
    {"cartridge.coupling_left_into_right",
     [](Scenario& s, double x) {
       s.cartridge.coupling_left_into_right = {0, x};
     }},
    {"cartridge.gain_imbalance_db", [](Scenario& s, double x) { s.cartridge.gain_imbalance_db = x; }},
    {"cartridge.interchannel_phase_deg", [](Scenario& s, double x) { s.cartridge.interchannel_phase_deg = x; }},
    {"cartridge.left_delay_s", [](Scenario& s, double x) { s.cartridge.left_delay_s = x; }},
    {"cartridge.second_harmonic_percent", [](Scenario& s, double x) { s.cartridge.second_harmonic_percent = x; }},
    {"cartridge.third_harmonic_percent", [](Scenario& s, double x) { s.cartridge.third_harmonic_percent = x; }},
    {"cartridge.electronics[1][0]",
     [](Scenario& s, double x) {
       s.cartridge.electronics[2] = {x, 0};
     }},
    {"noise.surface_noise_db", [](Scenario& s, double x) { s.noise.surface_noise_db = x; }},
    {"noise.clicks_per_s", [](Scenario& s, double x) { s.noise.clicks_per_s = x; }},
    {"noise.click_peak_db", [](Scenario& s, double x) { s.noise.click_peak_db = x; }},
    {"noise.rumble_db", [](Scenario& s, double x) { s.noise.rumble_db = x; }},
    {"noise.hum_db", [](Scenario& s, double x) { s.noise.hum_db = x; }},
    {"noise.hum_frequency_hz", [](Scenario& s, double x) { s.noise.hum_frequency_hz = x; }},
    {"noise.dc_left", [](Scenario& s, double x) { s.noise.dc_left = x; }},
    {"noise.dc_right", [](Scenario& s, double x) { s.noise.dc_right = x; }},
    {"steps[0].tilt_deg", [](Scenario& s, double x) { s.steps[0].tilt_deg = x; }},
    {"gauge_error_u_deg", [](Scenario& s, double x) { s.gauge_error_u_deg = x; }},
    {"gauge_zero_deg", [](Scenario& s, double x) { s.gauge_zero_deg = x; }},
    {"gauge_scale", [](Scenario& s, double x) { s.gauge_scale = x; }},
    {"units_per_deg", [](Scenario& s, double x) { s.units_per_deg = x; }},
};

std::string refusal(const Scenario& scenario) {
  try {
    check(scenario);
  } catch (const Error& error) {
    CHECK(error.kind() == ErrorKind::kInput);
    return error.what();
  }
  return "accepted";
}

}  // namespace

TEST_CASE("A number of a scenario that is NaN, infinite or absurd is refused, and the message names it") {
  REQUIRE(refusal(random_scenario(1, 5.4)) == "accepted");
  for (const Value& value : kValues) {
    for (const double x : {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity(), 1e300, -1e300}) {
      Scenario s = random_scenario(1, 5.4);
      value.set(s, x);
      INFO(value.name << " = " << x);
      CHECK_THAT(refusal(s), ContainsSubstring(value.name));
    }
  }
}

TEST_CASE("A scale may be negative but not zero, a record needs a tone, and the message is one line") {
  Scenario s = random_scenario(1, 5.4);
  s.gauge_scale = -1;
  s.units_per_deg = -12.5;
  CHECK(refusal(s) == "accepted");
  s.units_per_deg = 0;
  CHECK_THAT(refusal(s), ContainsSubstring("units_per_deg is 0"));
  s = random_scenario(1, 5.4);
  for (SimulatedBand& band : s.record.bands) band.band.reset();
  s.name = "two\nlines";
  CHECK_THAT(refusal(s), ContainsSubstring("only unmodulated groove"));
  CHECK(refusal(s).find('\n') == std::string::npos);
}
