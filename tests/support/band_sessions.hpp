// SPDX-License-Identifier: GPL-3.0-or-later
// Simulates sessions with sweeps or noise in their left-only and right-only bands, and compares their readings and solutions with the true
// values of each one-third octave.
#pragma once

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "evenwall/simulate.hpp"
#include "evenwall/solve.hpp"
#include "support/measurement_of.hpp"
#include "support/session_of.hpp"

namespace band_sessions {

using namespace evenwall;

struct BandCase {
  std::string name;
  SimulatedSignal signal = SimulatedSignal::kLogSweep;
  double warp_deg = 0;
  std::vector<SimulatedResonance> resonances{};
  double from_hz = 40, to_hz = 16000;
  double passage_s = 15;
};

inline SimulatedResonance resonance(double frequency_hz, double q) { return {frequency_hz, q, {0.01, 0}, {-0.007, 0}}; }

/// random_scenario without its lateral band: surface noise 42 dB down, clicks 2/s, hum, rumble, wow 0.15 %, flutter 0.05 %, speed within
/// 0.3 %.
inline Scenario scenario_of(const BandCase& what, std::uint64_t seed, const std::vector<double>& tilts_deg) {
  Scenario s = random_scenario(seed, what.passage_s);
  s.record.bands.resize(5);  // unmodulated, left, unmodulated, right, unmodulated
  for (const std::size_t i : {1, 3}) {
    SimulatedBand& band = s.record.bands[i];
    band.signal = what.signal;
    const bool sweep = what.signal == SimulatedSignal::kLogSweep || what.signal == SimulatedSignal::kLinearSweep;
    if (sweep) band.frequency_hz = what.from_hz, band.frequency_to_hz = what.to_hz;
  }
  s.record.warp_deg = what.warp_deg;
  s.record.warp_second_deg = 0.25 * what.warp_deg;
  s.cartridge.resonances = what.resonances;
  s.steps.clear();
  for (const double tilt : tilts_deg) s.steps.push_back({tilt, StepUse::kYes});
  s.session.bands = {Band::kLeft, Band::kRight};
  return s;
}

/// True values at one frequency: those of the same session with tones at that frequency.
inline SimulatedTruth truth_at(Scenario scenario, std::uint64_t seed, double frequency_hz) {
  for (SimulatedBand& band : scenario.record.bands) {
    band.signal = SimulatedSignal::kTone;
    band.frequency_hz = frequency_hz;
    band.frequency_to_hz.reset();
  }
  return SimulatedSession(std::move(scenario), seed).truth();
}

/// True values of a third octave: the means over ln f of those at single frequencies. Without a resonance, they do not depend on it.
inline SimulatedTruth truth_of_third_octave(const Scenario& scenario, std::uint64_t seed, double centre_hz) {
  SimulatedTruth mean = truth_at(scenario, seed, centre_hz);
  if (scenario.cartridge.resonances.empty()) return mean;
  constexpr int kPoints = 8;
  mean.least_crosstalk_deg = 0;
  for (auto& step : mean.steps) step.right_into_left_same_passage = step.left_into_right_same_passage = 0;
  for (int i = 0; i < kPoints; ++i) {
    const SimulatedTruth at = truth_at(scenario, seed, centre_hz * std::pow(10.0, 0.05 * ((2.0 * i + 1) / kPoints - 1)));
    mean.least_crosstalk_deg += at.least_crosstalk_deg / kPoints;
    for (std::size_t s = 0; s < mean.steps.size(); ++s) {
      mean.steps[s].right_into_left_same_passage += at.steps[s].right_into_left_same_passage / double{kPoints};
      mean.steps[s].left_into_right_same_passage += at.steps[s].left_into_right_same_passage / double{kPoints};
    }
  }
  return mean;
}

/// Errors, and errors divided by their stated standard uncertainties (z).
struct Scores {
  std::vector<double> z, error;

  void add(double off, double u) { z.push_back(off / u), error.push_back(off); }
  [[nodiscard]] double held_percent() const {
    const auto held = std::count_if(z.begin(), z.end(), [](double x) { return std::abs(x) <= 1.959964; });
    return 100.0 * static_cast<double>(held) / static_cast<double>(z.size());
  }
  static double rms(const std::vector<double>& values) {
    double sum = 0;
    for (const double v : values) sum += v * v;
    return std::sqrt(sum / static_cast<double>(values.size()));
  }
};

/// Errors per one-third octave from 316 Hz to 6.3 kHz: of crosstalk ratios (real parts, imaginary parts) and least-crosstalk tilts
/// (degrees).
struct Tally {
  std::vector<double> centres_hz;
  std::vector<Scores> real, imaginary, least;  ///< one per centre frequency
  std::size_t sessions = 0;

  Scores& at(std::vector<Scores>& scores, double frequency_hz) {
    const auto found = std::find_if(centres_hz.begin(), centres_hz.end(), [&](double f) { return std::abs(f / frequency_hz - 1) < 0.01; });
    const auto index = static_cast<std::size_t>(found - centres_hz.begin());
    if (found == centres_hz.end()) {
      centres_hz.push_back(frequency_hz);
      for (auto* all : {&real, &imaginary, &least}) all->emplace_back();
    }
    return scores[index];
  }
  static Scores all(const std::vector<Scores>& scores) {
    Scores sum;
    for (const Scores& s : scores) {
      sum.z.insert(sum.z.end(), s.z.begin(), s.z.end());
      sum.error.insert(sum.error.end(), s.error.begin(), s.error.end());
    }
    return sum;
  }
};

inline bool judged(double frequency_hz) { return frequency_hz > 300 && frequency_hz < 6400; }

/// Simulates, measures and solves one session.
inline void run(const BandCase& what, std::uint64_t seed, const std::vector<double>& tilts_deg, Tally& tally) {
  const Scenario scenario = scenario_of(what, seed, tilts_deg);
  const Session session = measured_session(SimulatedSession(scenario, seed));
  const Solution solution = solve(session, {});
  for (std::size_t i = 0; i < session.steps.size(); ++i) {
    for (const LeakPair& pair : measurement_of(session.steps[i]).crosstalk_spectrum) {
      if (!judged(pair.frequency_hz) || !pair.right_into_left || !pair.left_into_right) continue;
      const auto truth = truth_of_third_octave(scenario, seed, pair.frequency_hz).steps[i];
      const auto count = [&](const ComplexEstimate& e, Complex value) {
        tally.at(tally.real, pair.frequency_hz).add((e.value - value).real(), e.u_re);
        tally.at(tally.imaginary, pair.frequency_hz).add((e.value - value).imag(), e.u_im);
      };
      count(pair.right_into_left->same_passage, truth.right_into_left_same_passage);
      count(pair.left_into_right->same_passage, truth.left_into_right_same_passage);
    }
  }
  for (const auto& entry : solution.by_frequency) {
    if (!judged(entry.frequency_hz)) continue;
    const double truth_deg = truth_of_third_octave(scenario, seed, entry.frequency_hz).least_crosstalk_deg;
    tally.at(tally.least, entry.frequency_hz).add(entry.least_crosstalk_deg - truth_deg, entry.u_least_crosstalk_deg);
  }
  tally.sessions += 1;
}

}  // namespace band_sessions
