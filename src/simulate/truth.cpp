// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/truth.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

#include "simulate/draw.hpp"
#include "simulate/groove.hpp"

namespace evenwall::internal::simulate {
namespace {

constexpr double kReach_deg = 10.0;
constexpr double kScan_deg = 0.01;
constexpr std::uint64_t kGaugeStream = 11;

SimulatedRecord level_cut(SimulatedRecord record) {
  record.cut_level_difference_db = 0;
  return record;
}

/// Finds a sign change by bisection. Requires: one sign change between low and high.
double halved(const std::function<double(double)>& f, double low, double high) {
  const bool rising = f(low) < 0;
  for (int i = 0; i < 100; ++i) {
    const double middle = 0.5 * (low + high);
    ((f(middle) < 0) == rising ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

/// The sign change nearest to `centre` at which `holds` is true.
OptionalNumber nearest_root(const std::function<double(double)>& f, const std::function<bool(double)>& holds, double centre) {
  OptionalNumber best;
  for (double t = -kReach_deg; t < kReach_deg; t += kScan_deg) {
    if ((f(t) < 0) == (f(t + kScan_deg) < 0)) continue;
    const double root = halved(f, t, t + kScan_deg);
    if (holds(root) && (!best || std::abs(root - centre) < std::abs(*best - centre))) best = root;
  }
  return best;
}

double least_deg(const Scenario& scenario) {
  const auto total = [&](double t) {
    const TrueLeaks x = true_leaks(t, scenario);
    return std::norm(x.right_into_left) + std::norm(x.left_into_right);
  };
  double best = 0;
  for (double t = -kReach_deg; t <= kReach_deg; t += kScan_deg) best = total(t) < total(best) ? t : best;
  // Finds the sign change of the slope: the minimum itself is flat, so it would be accurate to half the digits only.
  const double h = 1e-4;
  return halved([&](double t) { return total(t + h) - total(t - h); }, best - 2 * kScan_deg, best + 2 * kScan_deg);
}

/// The frequency of a band nearest to 1 kHz: a tone has its own frequency only, a sweep all between its ends, noise all frequencies.
double nearest_wanted_hz(const SimulatedBand& band) {
  if (is_noise(band)) return kWantedFrequency_hz;
  const auto [low, high] =
      std::minmax({band.frequency_hz, band.frequency_to_hz.value_or(band.frequency_hz)});  // the braces give values, not references
  return band.signal == SimulatedSignal::kTone ? band.frequency_hz : std::clamp(kWantedFrequency_hz, low, high);
}

/// The frequency of the tone nearest to 1 kHz; if there is no tone, the frequency nearest to 1 kHz in a sweep or noise.
double frequency_of(const Scenario& scenario) {
  const bool tones = std::any_of(scenario.record.bands.begin(), scenario.record.bands.end(),
                                 [](const SimulatedBand& b) { return b.band && b.signal == SimulatedSignal::kTone; });
  double best = 0;
  for (const SimulatedBand& band : scenario.record.bands) {
    if (!band.band || (tones && band.signal != SimulatedSignal::kTone)) continue;
    const double here_hz = nearest_wanted_hz(band);
    const auto off = [](double f) { return std::abs(std::log(f / kWantedFrequency_hz)); };
    if (best == 0 || off(here_hz) < off(best)) best = here_hz;
  }
  return best;
}

}  // namespace

TrueLeaks true_leaks(double tilt_deg, const Scenario& scenario) {
  const SimulatedRecord record = level_cut(scenario.record);
  const Outputs from_left = generator_outputs(stylus_motion(Band::kLeft, record), tilt_deg, frequency_of(scenario), scenario.cartridge);
  const Outputs from_right = generator_outputs(stylus_motion(Band::kRight, record), tilt_deg, frequency_of(scenario), scenario.cartridge);
  return {from_right.left / from_left.left, from_left.right / from_right.right};
}

std::vector<double> true_tilts_deg(const Scenario& scenario, std::uint64_t seed) {
  Draw draw{seed, kGaugeStream};
  std::vector<double> tilts;
  for (const SimulatedStep& step : scenario.steps) {
    tilts.push_back(scenario.gauge_scale * step.tilt_deg + scenario.gauge_zero_deg + scenario.gauge_error_u_deg * draw.normal());
  }
  return tilts;
}

SimulatedTruth truth_of(const Scenario& scenario, std::uint64_t seed) {
  const auto logged = [&](double true_deg) { return (true_deg - scenario.gauge_zero_deg) / scenario.gauge_scale; };
  const double least = least_deg(scenario);
  const auto difference = [&](double t) {
    const TrueLeaks x = true_leaks(t, scenario);
    return std::norm(x.right_into_left) - std::norm(x.left_into_right);
  };
  const auto product = [&](double t) {
    const TrueLeaks x = true_leaks(t, scenario);
    return x.right_into_left * std::conj(x.left_into_right);
  };
  SimulatedTruth truth;
  truth.frequency_hz = frequency_of(scenario);
  truth.least_crosstalk_deg = logged(least);
  if (const auto t = nearest_root(
          difference, [](double) { return true; }, least))
    truth.equal_crosstalk_deg = logged(*t);
  const auto crossed = [&](double t) { return product(t).imag(); };
  if (const auto t = nearest_root(
          crossed, [&](double v) { return product(v).real() > 0; }, least))
    truth.phase_match_deg = logged(*t);

  const SimulatedRecord record = level_cut(scenario.record);
  SimulatedCartridge gains_only = scenario.cartridge;
  gains_only.electronics = {Complex{1, 0}, Complex{0, 0}, Complex{0, 0}, Complex{1, 0}};
  gains_only.channels_swapped = gains_only.right_polarity_reversed = false;
  const auto seen = [&](Band band, double tilt, const SimulatedRecord& r, const SimulatedCartridge& c) {
    return chain_outputs(generator_outputs(stylus_motion(band, r), tilt, truth.frequency_hz, c), truth.frequency_hz, c);
  };
  const Complex gain = seen(Band::kLeft, least, record, gains_only).left / seen(Band::kRight, least, record, gains_only).right;
  truth.balance_db = decibels(std::abs(gain));
  truth.interchannel_phase_deg = phase_deg(gain);
  const TrueLeaks at_least = true_leaks(least, scenario);
  truth.crosstalk_right_into_left_db = decibels(std::abs(at_least.right_into_left));
  truth.crosstalk_left_into_right_db = decibels(std::abs(at_least.left_into_right));
  const auto tilts = true_tilts_deg(scenario, seed);
  for (std::size_t i = 0; i < tilts.size(); ++i) {
    const Outputs left = seen(Band::kLeft, tilts[i], scenario.record, scenario.cartridge);
    const Outputs right = seen(Band::kRight, tilts[i], scenario.record, scenario.cartridge);
    truth.steps.push_back({scenario.steps[i].tilt_deg, tilts[i], right.left / right.right, left.right / left.left});
  }
  return truth;
}

}  // namespace evenwall::internal::simulate
