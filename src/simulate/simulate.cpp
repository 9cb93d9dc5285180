#include "evenwall/simulate.hpp"

#include <fmt/format.h>

#include <cmath>

#include "evenwall/error.hpp"
#include "simulate/draw.hpp"
#include "simulate/simulated_capture.hpp"
#include "simulate/truth.hpp"

namespace evenwall {
namespace {

constexpr double kHighestTone = 0.45;  // of the sample rate
constexpr double kLongest_s = 24 * 3600;
constexpr std::uint64_t kScenarioStream = 3;

void require(bool good, const std::string& what) {
  if (!good) throw Error(ErrorKind::kInput, "scenario: " + what);
}

void require_between(double value, double low, double high, const char* name) {
  require(std::isfinite(value) && value >= low && value <= high, fmt::format("{} is {}, must be {} to {}", name, value, low, high));
}

void check_bands(const Scenario& s) {
  require(!s.record.bands.empty(), "record.bands is empty; list what the record plays");
  double total_s = 0;
  bool sounds = false;
  for (const SimulatedBand& band : s.record.bands) {
    require_between(band.frequency_hz, 20, kHighestTone * s.sample_rate_hz, "record.bands[].frequency_hz");
    require_between(band.duration_s, 0.01, kLongest_s, "record.bands[].duration_s");
    require_between(band.level_dbfs, -120, 0, "record.bands[].level_dbfs");
    require_between(band.fade_s, 0, 0.5 * band.duration_s, "record.bands[].fade_s");
    total_s += band.duration_s;
    sounds |= band.band.has_value();
  }
  require(sounds, "record.bands holds quiet groove only");
  require_between(total_s, 0, kLongest_s, "the bands' total duration_s");
}

void check(const Scenario& s) {
  require_between(s.sample_rate_hz, 8000, 768000, "sample_rate_hz");
  require(s.bits == 16 || s.bits == 24 || s.bits == 32, fmt::format("bits is {}, must be 16, 24 or 32", s.bits));
  require(!s.steps.empty(), "steps is empty; list the tilts to simulate");
  check_bands(s);
  for (const SimulatedStep& step : s.steps) require_between(step.tilt_deg, -30, 30, "steps[].tilt_deg");
  require_between(s.record.rpm, 10, 100, "record.rpm");
  require_between(s.record.wow_percent, 0, 5, "record.wow_percent");
  require_between(s.record.flutter_percent, 0, 5, "record.flutter_percent");
  require_between(s.record.warp_deg, 0, 5, "record.warp_deg");
  require_between(s.record.speed_error_percent, -20, 20, "record.speed_error_percent");
  require_between(s.noise.clicks_per_s, 0, 1000, "noise.clicks_per_s");
  require_between(s.noise.hum_frequency_hz, 10, 1000, "noise.hum_frequency_hz");
  require_between(s.gauge_error_u_deg, 0, 10, "gauge_error_u_deg");
  require(std::isfinite(s.gauge_scale) && std::abs(s.gauge_scale) >= 0.01, "gauge_scale must not be zero");
}

void draw_cartridge(SimulatedCartridge& c, Draw& draw) {
  const double common_deg = draw.uniform(-1.3, 1.3);
  // From about −52 to −30 dB of shear between the two channels.
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

SimulatedSession::SimulatedSession(Scenario scenario, std::uint64_t seed) : scenario_(std::move(scenario)), seed_(seed) {
  check(scenario_);
  truth_ = truth_of(scenario_, seed_);
}

std::unique_ptr<AudioSource> SimulatedSession::capture(std::size_t index) const {
  return std::make_unique<SimulatedCapture>(scenario_, seed_, index, truth_.steps.at(index).true_tilt_deg);
}

Scenario random_scenario(std::uint64_t seed, double passage_s) {
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
