// SPDX-License-Identifier: GPL-3.0-or-later
// Tests the plan of a session before a stylus is lowered: simulates a cartridge and a record, measures the record at five tilts, and solves
// the session. The tilt is the azimuth angle of the cartridge, seen from the front. The program writes no file.
#include <cstdint>
#include <iostream>
#include <memory>

#include "evenwall/error.hpp"
#include "evenwall/measure.hpp"
#include "evenwall/simulate.hpp"
#include "evenwall/solve.hpp"

namespace {

using evenwall::Band;

evenwall::Scenario plan() {
  evenwall::Scenario scenario;
  scenario.name = "Moss Hill, short bands";
  // Unmodulated groove (no band) comes before the left-only band and before the right-only band.
  for (const auto band : {std::optional<Band>{}, std::optional(Band::kLeft), std::optional<Band>{}, std::optional(Band::kRight)}) {
    evenwall::SimulatedBand cut;
    cut.band = band;
    cut.duration_s = band ? 4.0 : 1.0;
    scenario.record.bands.push_back(cut);
  }
  scenario.record.wow_percent = 0.1;
  // Both coils have the same angle error of −1.2°, so the correct azimuth is 1.2° clockwise.
  scenario.cartridge.generator_error_left_deg = -1.2;
  scenario.cartridge.generator_error_right_deg = -1.2;
  scenario.noise.surface_noise_db = -45;
  for (const double tilt_deg : {-2.0, -1.0, 0.0, 1.0, 2.0}) {
    evenwall::SimulatedStep step;
    step.tilt_deg = tilt_deg;
    scenario.steps.push_back(step);
  }
  return scenario;
}

}  // namespace

int main() try {
  constexpr std::uint64_t kSeed = 5;  // the same scenario and seed give the same samples
  const evenwall::SimulatedSession simulated(plan(), kSeed);

  evenwall::Session session;
  session.facts.gauge_u_deg = 0.01;
  for (std::size_t i = 0; i < simulated.size(); ++i) {
    const std::unique_ptr<evenwall::AudioSource> capture = simulated.capture(i);
    evenwall::LogEntry log;
    log.capture = "step " + std::to_string(i + 1);
    log.tilt_deg = simulated.truth().steps[i].logged_deg;
    session.steps.push_back({log, evenwall::measure(*capture, {})});
  }

  const evenwall::Solution solution = evenwall::solve(session, {});
  std::cout << "true value: " << simulated.truth().least_crosstalk_deg << " degrees\n"
            << "found: " << solution.least_crosstalk.tilt_deg << " degrees, 95 % from " << solution.least_crosstalk.interval95_deg[0]
            << " to " << solution.least_crosstalk.interval95_deg[1] << '\n';
} catch (const evenwall::Error& error) {
  std::cerr << error.what() << '\n';
  return 1;
}
