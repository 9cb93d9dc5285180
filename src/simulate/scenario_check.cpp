#include "simulate/scenario_check.hpp"

#include <fmt/format.h>

#include <cmath>
#include <string>

#include "base/text.hpp"
#include "evenwall/error.hpp"

namespace evenwall {
namespace {

// Limits are set where a value stops meaning what its name says, not where it stops being likely.
constexpr double kHighestTone = 0.45;  // of the sample rate
constexpr double kLongest_s = 24 * 3600;
constexpr double kMostTurn_deg = 45;       // beyond it a wall's axis is nearer the other wall
constexpr double kMostLevel_db = 60;       // amplitudes stay within what a float holds with digits to spare
constexpr double kLeastLevel_db = -200;    // below any arithmetic noise of float samples
constexpr double kMostDelay_s = 0.01;      // ten periods at 1 kHz: two captures rather than one beyond it
constexpr double kMostMatrixPart = 10;     // of an electronics or coupling element
constexpr double kLeastRulerScale = 1e-6;  // a ruler finer than that, or coarser than its inverse, is a slip
constexpr double kLeastGaugeScale = 0.01;

class Check {
 public:
  explicit Check(const Scenario& scenario) : name_(escaped(scenario.name)) {}

  void require(bool good, const std::string& what) const {
    if (!good) throw Error(ErrorKind::kInput, fmt::format("scenario '{}': {}", name_, what));
  }
  void between(double value, double low, double high, const std::string& name) const {
    require(std::isfinite(value) && value >= low && value <= high, fmt::format("{} is {}, must be {} to {}", name, value, low, high));
  }
  void within(double value, double most, const std::string& name) const { between(value, -most, most, name); }
  void within(Complex value, double most, const std::string& name) const {
    within(value.real(), most, name + " (real part)");
    within(value.imag(), most, name + " (imaginary part)");
  }
  void level(const OptionalNumber& level_db, const std::string& name) const {
    if (level_db) between(*level_db, kLeastLevel_db, kMostLevel_db, name);
  }
  /// Of either sign, not zero.
  void scale(double value, double least, const std::string& name) const {
    const double size = std::abs(value);
    require(std::isfinite(value) && size >= least && size <= 1 / least,
            fmt::format("{} is {}, must be {} to {} in size", name, value, least, 1 / least));
  }

 private:
  std::string name_;
};

void check_bands(const Check& check, const Scenario& s) {
  check.require(!s.record.bands.empty(), "record.bands is empty; list what the record plays");
  double total_s = 0;
  bool sounds = false;
  for (std::size_t i = 0; i < s.record.bands.size(); ++i) {
    const SimulatedBand& band = s.record.bands[i];
    const std::string name = fmt::format("record.bands[{}]", i);
    check.between(band.frequency_hz, 20, kHighestTone * s.sample_rate_hz, name + ".frequency_hz");
    const bool sweep = band.signal == SimulatedSignal::kLogSweep || band.signal == SimulatedSignal::kLinearSweep;
    check.require(band.frequency_to_hz.has_value() == sweep, name + ".frequency_to_hz belongs to a sweep, and to nothing else");
    if (sweep) check.between(*band.frequency_to_hz, 20, kHighestTone * s.sample_rate_hz, name + ".frequency_to_hz");
    check.between(band.duration_s, 0.01, kLongest_s, name + ".duration_s");
    check.between(band.level_dbfs, -120, 0, name + ".level_dbfs");
    check.between(band.fade_s, 0, 0.5 * band.duration_s, name + ".fade_s");
    total_s += band.duration_s;
    sounds |= band.band.has_value();
  }
  check.require(sounds, "record.bands holds quiet groove only; add a band with a tone");
  check.between(total_s, 0, kLongest_s, "the bands' total duration_s");
}

void check_record(const Check& check, const SimulatedRecord& r) {
  check.between(r.rpm, 10, 100, "record.rpm");
  check.within(r.cut_error_left_deg, kMostTurn_deg, "record.cut_error_left_deg");
  check.within(r.cut_error_right_deg, kMostTurn_deg, "record.cut_error_right_deg");
  check.within(r.cut_level_difference_db, kMostLevel_db, "record.cut_level_difference_db");
  check.between(r.wow_percent, 0, 5, "record.wow_percent");
  check.between(r.flutter_percent, 0, 5, "record.flutter_percent");
  check.between(r.warp_deg, 0, 5, "record.warp_deg");
  check.between(r.warp_second_deg, 0, 5, "record.warp_second_deg");
  check.within(r.speed_error_percent, 20, "record.speed_error_percent");
}

void check_cartridge(const Check& check, const SimulatedCartridge& c) {
  check.within(c.generator_error_left_deg, kMostTurn_deg, "cartridge.generator_error_left_deg");
  check.within(c.generator_error_right_deg, kMostTurn_deg, "cartridge.generator_error_right_deg");
  check.within(c.coupling_right_into_left, kMostMatrixPart, "cartridge.coupling_right_into_left");
  check.within(c.coupling_left_into_right, kMostMatrixPart, "cartridge.coupling_left_into_right");
  for (std::size_t i = 0; i < c.resonances.size(); ++i) {
    const SimulatedResonance& r = c.resonances[i];
    const std::string name = fmt::format("cartridge.resonances[{}]", i);
    check.between(r.frequency_hz, 20, 1e6, name + ".frequency_hz");
    check.between(r.q, 0.1, 1000, name + ".q");
    check.within(r.right_into_left, kMostMatrixPart, name + ".right_into_left");
    check.within(r.left_into_right, kMostMatrixPart, name + ".left_into_right");
  }
  check.within(c.gain_imbalance_db, kMostLevel_db, "cartridge.gain_imbalance_db");
  check.within(c.interchannel_phase_deg, 180, "cartridge.interchannel_phase_deg");
  check.within(c.left_delay_s, kMostDelay_s, "cartridge.left_delay_s");
  check.between(c.second_harmonic_percent, 0, 100, "cartridge.second_harmonic_percent");
  check.between(c.third_harmonic_percent, 0, 100, "cartridge.third_harmonic_percent");
  for (std::size_t i = 0; i < c.electronics.size(); ++i) {
    check.within(c.electronics[i], kMostMatrixPart, fmt::format("cartridge.electronics[{}][{}]", i / 2, i % 2));
  }
}

void check_noise(const Check& check, const SimulatedNoise& n) {
  check.level(n.surface_noise_db, "noise.surface_noise_db");
  check.between(n.clicks_per_s, 0, 1000, "noise.clicks_per_s");
  check.level(n.click_peak_db, "noise.click_peak_db");
  check.level(n.rumble_db, "noise.rumble_db");
  check.level(n.hum_db, "noise.hum_db");
  check.between(n.hum_frequency_hz, 10, 1000, "noise.hum_frequency_hz");
  check.within(n.dc_left, 1, "noise.dc_left");
  check.within(n.dc_right, 1, "noise.dc_right");
}

void check_steps(const Check& check, const Scenario& s) {
  check.require(!s.steps.empty(), "steps is empty; list the tilts to simulate");
  for (std::size_t i = 0; i < s.steps.size(); ++i) check.within(s.steps[i].tilt_deg, 30, fmt::format("steps[{}].tilt_deg", i));
  check.between(s.gauge_error_u_deg, 0, 10, "gauge_error_u_deg");
  check.within(s.gauge_zero_deg, 30, "gauge_zero_deg");
  check.scale(s.gauge_scale, kLeastGaugeScale, "gauge_scale");
  if (s.units_per_deg) check.scale(*s.units_per_deg, kLeastRulerScale, "units_per_deg");
}

}  // namespace

void check(const Scenario& scenario) {
  const Check check(scenario);
  check.between(scenario.sample_rate_hz, 8000, 768000, "sample_rate_hz");
  check.require(scenario.bits == 16 || scenario.bits == 24 || scenario.bits == 32,
                fmt::format("bits is {}, must be 16, 24 or 32", scenario.bits));
  check_bands(check, scenario);
  check_record(check, scenario.record);
  check_cartridge(check, scenario.cartridge);
  check_noise(check, scenario.noise);
  check_steps(check, scenario);
}

}  // namespace evenwall
