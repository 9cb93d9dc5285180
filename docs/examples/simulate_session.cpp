// SPDX-License-Identifier: GPL-3.0-or-later
// Simulates a cartridge and a record, plays the record at five tilts, and solves what was heard: a trial of a plan before a stylus is
// lowered. Nothing touches the disk.
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
  // Groove without a signal (no band), then one wall, then the other.
  for (const auto band : {std::optional<Band>{}, std::optional(Band::kLeft), std::optional<Band>{}, std::optional(Band::kRight)}) {
    evenwall::SimulatedBand cut;
    cut.band = band;
    cut.duration_s = band ? 4.0 : 1.0;
    scenario.record.bands.push_back(cut);
  }
  scenario.record.wow_percent = 0.1;
  // Both coils are turned alike: the cartridge must lean 1.2° clockwise to make up for it.
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
  std::cout << "truth: " << simulated.truth().least_crosstalk_deg << " degrees\n"
            << "found: " << solution.least_crosstalk.tilt_deg << " degrees, 95 % from " << solution.least_crosstalk.interval95_deg[0]
            << " to " << solution.least_crosstalk.interval95_deg[1] << '\n';
} catch (const evenwall::Error& error) {
  std::cerr << error.what() << '\n';
  return 1;
}
