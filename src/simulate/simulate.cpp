// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/simulate.hpp"

#include <fmt/format.h>

#include <cassert>
#include <cmath>

#include "simulate/draw.hpp"
#include "simulate/scenario_check.hpp"
#include "simulate/simulated_capture.hpp"
#include "simulate/truth.hpp"

namespace evenwall::internal::simulate {
namespace {

constexpr std::uint64_t kScenarioStream = 3;

void draw_cartridge(SimulatedCartridge& c, Draw& draw) {
  const double common_deg = draw.uniform(-1.3, 1.3);
  // The shear between the two channels is about −52 to −30 dB.
  const double shear_deg = draw.sign() * draw.uniform(0.15, 1.6);
  c.generator_error_left_deg = common_deg + shear_deg;
  c.generator_error_right_deg = common_deg - shear_deg;
  const auto coupling = [&] { return std::polar(draw.uniform(1e-3, 1e-2), draw.uniform(-3.14159, 3.14159)); };
  c.coupling_right_into_left = coupling();
  c.coupling_left_into_right = coupling();
  c.gain_imbalance_db = draw.uniform(-1, 1);
  c.interchannel_phase_deg = draw.uniform(-3, 3);
  c.second_harmonic_percent = draw.uniform(0.5, 2);
  c.third_harmonic_percent = draw.uniform(0.2, 0.8);
}

}  // namespace
}  // namespace evenwall::internal::simulate

namespace evenwall {

SimulatedSession::SimulatedSession(Scenario scenario, std::uint64_t seed) : scenario_(std::move(scenario)), seed_(seed) {
  internal::simulate::check(scenario_);
  truth_ = internal::simulate::truth_of(scenario_, seed_);
}

std::unique_ptr<AudioSource> SimulatedSession::capture(std::size_t index) const {
  assert(index < size());
  return std::make_unique<internal::simulate::SimulatedCapture>(scenario_, seed_, index, truth_.steps.at(index).true_tilt_deg);
}

Scenario random_scenario(std::uint64_t seed, double passage_s) {
  using namespace internal::simulate;
  Draw draw{seed, kScenarioStream};
  Scenario s;
  s.name = fmt::format("random scenario {}", seed);
  const auto band = [](std::optional<Band> which, double duration_s) { return SimulatedBand{which, 1000, duration_s, -12, 0.05}; };
  s.record.bands = {band({}, 2),   band(Band::kLeft, passage_s), band({}, 1.2), band(Band::kRight, passage_s),
                    band({}, 1.2), band(Band::kLateral, 3),      band({}, 1)};
  s.record.cut_error_left_deg = draw.uniform(-0.5, 0.5);
  s.record.cut_error_right_deg = draw.uniform(-0.5, 0.5);
  s.record.wow_percent = 0.15;
  s.record.warp_deg = 0.08;
  s.record.warp_second_deg = 0.02;
  s.record.flutter_percent = 0.05;
  s.record.speed_error_percent = draw.uniform(-0.3, 0.3);
  draw_cartridge(s.cartridge, draw);
  s.noise.surface_noise_db = -42;
  s.noise.clicks_per_s = 2;
  s.noise.rumble_db = -40;
  s.noise.hum_db = -45;
  s.noise.dc_left = draw.uniform(-0.002, 0.002);
  s.noise.dc_right = draw.uniform(-0.002, 0.002);
  for (int i = -2; i <= 2; ++i) s.steps.push_back({static_cast<double>(i), StepUse::kYes});
  s.session.cartridge = "Fernhill No. 4";
  s.session.record = "Quay Street test pressing";
  s.session.bands = {Band::kLeft, Band::kRight, Band::kLateral};
  s.session.gauge_u_deg = 0;
  return s;
}

}  // namespace evenwall
