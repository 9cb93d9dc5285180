// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/scenario_check.hpp"

#include <fmt/format.h>

#include <cmath>
#include <string>

#include "base/ranges.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"

namespace evenwall::internal::simulate {
namespace {

constexpr double kHighestTone = 0.45;      // of the sample rate
constexpr double kLeastRulerScale = 1e-6;  // a ruler finer than this, or coarser than its inverse, is an input error
constexpr double kLeastGaugeScale = 0.01;
constexpr std::size_t kShownName = 60;  // bytes, in a message
constexpr double kLongest_s = 24 * 3600;

class Check {
 public:
  explicit Check(const Scenario& scenario) : name_(base::escaped(scenario.name.substr(0, kShownName))) {}

  void require(bool good, const std::string& what) const {
    if (!good) throw Error(ErrorKind::kInput, fmt::format("scenario '{}': {}", name_, what));
  }
  /// `name`: the keys from the top of the document, joined by dots. The last keys select the row of base/ranges.hpp.
  void number(double value, const std::string& name) const {
    const std::string path = name.substr(0, name.find(' '));
    const std::size_t dot = path.rfind('.');
    const std::string above = dot == std::string::npos ? "" : path.substr(path.rfind('.', dot - 1) + 1);
    const std::string parent = above.substr(0, above.find_first_of("[."));
    const std::string key = path.substr(dot == std::string::npos ? 0 : dot + 1);
    const base::Range& range = base::range_of("scenario", parent, key.substr(0, key.find('[')));
    require(base::in_range(range, value), fmt::format("{} is {}. Correct the scenario.", name, base::out_of_range_text(range, value)));
  }
  void number(const OptionalNumber& value, const std::string& name) const {
    if (value) number(*value, name);
  }
  void number(Complex value, const std::string& name) const {
    number(value.real(), name + " (real part)");
    number(value.imag(), name + " (imaginary part)");
  }
  void at_most(double value, double most, const std::string& name) const {
    require(value <= most, fmt::format("{} is {}. The limit is {}. Correct the scenario.", name, value, most));
  }
  /// Checks a scale that may have either sign and has at least the magnitude `least`.
  void scale(double value, double least, const std::string& name) const {
    number(value, name);
    require(std::abs(value) >= least,
            fmt::format("{} is {}. Its magnitude must be {} to {}. Correct the scenario.", name, value, least, 1 / least));
  }

 private:
  std::string name_;
};

void check_bands(const Check& check, const Scenario& s) {
  check.require(!s.record.bands.empty(), "record.bands is empty. List the bands that the record plays.");
  double total_s = 0;
  bool sounds = false;
  for (std::size_t i = 0; i < s.record.bands.size(); ++i) {
    const SimulatedBand& band = s.record.bands[i];
    const std::string name = fmt::format("record.bands[{}]", i);
    check.number(band.frequency_hz, name + ".frequency_hz");
    check.at_most(band.frequency_hz, kHighestTone * s.sample_rate_hz, name + ".frequency_hz");
    const bool sweep = band.signal == SimulatedSignal::kLogSweep || band.signal == SimulatedSignal::kLinearSweep;
    check.require(band.frequency_to_hz.has_value() == sweep,
                  name + ".frequency_to_hz is required for a sweep, and not allowed for another signal. Correct the scenario.");
    if (sweep) check.number(*band.frequency_to_hz, name + ".frequency_to_hz");
    if (sweep) check.at_most(*band.frequency_to_hz, kHighestTone * s.sample_rate_hz, name + ".frequency_to_hz");
    check.number(band.duration_s, name + ".duration_s");
    check.number(band.level_dbfs, name + ".level_dbfs");
    check.number(band.fade_s, name + ".fade_s");
    check.at_most(band.fade_s, 0.5 * band.duration_s, name + ".fade_s");
    total_s += band.duration_s;
    sounds |= band.band.has_value();
  }
  check.require(sounds, "record.bands holds only unmodulated groove. Add a band with a signal.");
  check.at_most(total_s, kLongest_s, "the total duration_s of the bands");
}

void check_record(const Check& check, const SimulatedRecord& r) {
  check.number(r.rpm, "record.rpm");
  check.number(r.cut_error_left_deg, "record.cut_error_left_deg");
  check.number(r.cut_error_right_deg, "record.cut_error_right_deg");
  check.number(r.cut_level_difference_db, "record.cut_level_difference_db");
  check.number(r.wow_percent, "record.wow_percent");
  check.number(r.flutter_percent, "record.flutter_percent");
  check.number(r.warp_deg, "record.warp_deg");
  check.number(r.warp_second_deg, "record.warp_second_deg");
  check.number(r.speed_error_percent, "record.speed_error_percent");
}

void check_cartridge(const Check& check, const SimulatedCartridge& c) {
  check.number(c.generator_error_left_deg, "cartridge.generator_error_left_deg");
  check.number(c.generator_error_right_deg, "cartridge.generator_error_right_deg");
  check.number(c.coupling_right_into_left, "cartridge.coupling_right_into_left");
  check.number(c.coupling_left_into_right, "cartridge.coupling_left_into_right");
  for (std::size_t i = 0; i < c.resonances.size(); ++i) {
    const SimulatedResonance& r = c.resonances[i];
    const std::string name = fmt::format("cartridge.resonances[{}]", i);
    check.number(r.frequency_hz, name + ".frequency_hz");
    check.number(r.q, name + ".q");
    check.number(r.right_into_left, name + ".right_into_left");
    check.number(r.left_into_right, name + ".left_into_right");
  }
  check.number(c.gain_imbalance_db, "cartridge.gain_imbalance_db");
  check.number(c.interchannel_phase_deg, "cartridge.interchannel_phase_deg");
  check.number(c.left_delay_s, "cartridge.left_delay_s");
  check.number(c.second_harmonic_percent, "cartridge.second_harmonic_percent");
  check.number(c.third_harmonic_percent, "cartridge.third_harmonic_percent");
  for (std::size_t i = 0; i < c.electronics.size(); ++i) {
    check.number(c.electronics[i], fmt::format("cartridge.electronics[{}][{}]", i / 2, i % 2));
  }
}

void check_noise(const Check& check, const SimulatedNoise& n) {
  check.number(n.surface_noise_db, "noise.surface_noise_db");
  check.number(n.clicks_per_s, "noise.clicks_per_s");
  check.number(n.click_peak_db, "noise.click_peak_db");
  check.number(n.rumble_db, "noise.rumble_db");
  check.number(n.hum_db, "noise.hum_db");
  check.number(n.hum_frequency_hz, "noise.hum_frequency_hz");
  check.number(n.dc_left, "noise.dc_left");
  check.number(n.dc_right, "noise.dc_right");
}

void check_steps(const Check& check, const Scenario& s) {
  check.require(!s.steps.empty(), "steps is empty. List the tilts to simulate.");
  for (std::size_t i = 0; i < s.steps.size(); ++i) check.number(s.steps[i].tilt_deg, fmt::format("steps[{}].tilt_deg", i));
  check.number(s.gauge_error_u_deg, "gauge_error_u_deg");
  check.number(s.gauge_zero_deg, "gauge_zero_deg");
  check.scale(s.gauge_scale, kLeastGaugeScale, "gauge_scale");
  if (s.units_per_deg) check.scale(*s.units_per_deg, kLeastRulerScale, "units_per_deg");
}

}  // namespace

void check(const Scenario& scenario) {
  const Check check(scenario);
  check.number(scenario.sample_rate_hz, "sample_rate_hz");
  check.require(scenario.bits == 16 || scenario.bits == 24 || scenario.bits == 32,
                fmt::format("bits is {}. It must be 16, 24 or 32. Correct the scenario.", scenario.bits));
  check_bands(check, scenario);
  check_record(check, scenario.record);
  check_cartridge(check, scenario.cartridge);
  check_noise(check, scenario.noise);
  check_steps(check, scenario);
}

}  // namespace evenwall::internal::simulate
