// SPDX-License-Identifier: GPL-3.0-or-later
// Determines from audio how accurate the bands of sweeps and noise and their stated uncertainties are: the figures of docs/accuracy.md.
// Usage: study_bands [sessions [part of a case's name]]. The exit status is 1 if a figure leaves its bounds.
#include <cstdio>
#include <cstdlib>
#include <functional>

#include "support/band_sessions.hpp"
#include "support/rig.hpp"

using namespace band_sessions;

namespace {

// In no third octave may the stated uncertainty be smaller than the errors by more than the study can resolve.
constexpr double kLeastHeld_percent = 92;
constexpr double kMostRmsZ = 1.3;  // of the tilts
constexpr double kLeakRmsZ = 1.15;
/// Limit of the largest of some hundred rms values, each of n normal values of standard deviation 1.15: 3.2 of its own standard deviations.
double most_rms_z(std::size_t values) { return kLeakRmsZ * (1 + 3.2 / std::sqrt(2.0 * static_cast<double>(values))); }

const std::vector<BandCase> kCases{
    {"log sweep", SimulatedSignal::kLogSweep},
    {"log sweep, warp", SimulatedSignal::kLogSweep, 0.08},
    {"log sweep, 8 kHz Q 3", SimulatedSignal::kLogSweep, 0, {resonance(8000, 3)}},
    {"log sweep, 8 kHz Q 3, warp", SimulatedSignal::kLogSweep, 0.08, {resonance(8000, 3)}},
    {"log sweep, 2 kHz Q 2", SimulatedSignal::kLogSweep, 0, {resonance(2000, 2)}},
    {"log sweep, 2 kHz Q 2, warp", SimulatedSignal::kLogSweep, 0.08, {resonance(2000, 2)}},
    {"linear sweep down, warp", SimulatedSignal::kLinearSweep, 0.08, {}, 16000, 40},
    {"pink noise, warp", SimulatedSignal::kPinkNoise, 0.08, {}, 40, 16000, 8},
    {"white noise, warp", SimulatedSignal::kWhiteNoise, 0.08, {}, 40, 16000, 8},
};

/// A resonance anywhere from 400 Hz to 10 kHz, Q 1 to 6, warp 0.08° in every other session.
BandCase any_resonance(std::uint64_t seed) {
  rig::Draw draw(seed);
  const double hz = 400 * std::pow(25.0, draw.uniform(0, 1));
  return {"log sweep, any resonance", SimulatedSignal::kLogSweep, seed % 2 == 0 ? 0.0 : 0.08, {resonance(hz, draw.uniform(1, 6))}};
}

double worst_rms_z(const Tally& tally, const std::vector<Scores>& scores, double& at_hz) {
  double worst = 0;
  for (std::size_t k = 0; k < scores.size(); ++k) {
    if (Scores::rms(scores[k].z) > worst) worst = Scores::rms(scores[k].z), at_hz = tally.centres_hz[k];
  }
  return worst;
}

bool study(const std::string& name, int sessions, const std::function<BandCase(std::uint64_t)>& case_of) {
  Tally tally;
  for (int i = 0; i < sessions; ++i) {
    const auto seed = static_cast<std::uint64_t>(60'000 + i);
    run(case_of(seed), seed, {-2, -1, 0, 1, 2}, tally);
  }
  const Scores real = Tally::all(tally.real), imaginary = Tally::all(tally.imaginary), least = Tally::all(tally.least);
  double leak_hz = 0, least_hz = 0;
  const double leak_worst = worst_rms_z(tally, tally.real, leak_hz);
  const double least_worst = worst_rms_z(tally, tally.least, least_hz);
  std::printf(
      "%-28s crosstalk: re %5.1f %% im %5.1f %% held, rms z %.2f %.2f (worst %.2f at %4.0f Hz); least: %5.1f %% held, rms %.4f deg, "
      "rms z %.2f (worst %.2f at %4.0f Hz)\n",
      name.c_str(), real.held_percent(), imaginary.held_percent(), Scores::rms(real.z), Scores::rms(imaginary.z), leak_worst, leak_hz,
      least.held_percent(), Scores::rms(least.error), Scores::rms(least.z), least_worst, least_hz);
  std::fflush(stdout);
  // All crosstalk of one sweep shares a warp, so a session counts as one value.
  return real.held_percent() >= kLeastHeld_percent && imaginary.held_percent() >= kLeastHeld_percent &&
         least.held_percent() >= kLeastHeld_percent && leak_worst <= most_rms_z(tally.sessions) && least_worst <= kMostRmsZ;
}

}  // namespace

int main(int argc, char** argv) {
  const int sessions = argc > 1 ? std::atoi(argv[1]) : 40;
  const char* only = argc > 2 ? argv[2] : "";
  bool good = true;
  for (const BandCase& what : kCases) {
    if (what.name.find(only) != std::string::npos) good = study(what.name, sessions, [&](std::uint64_t) { return what; }) && good;
  }
  if (any_resonance(0).name.find(only) != std::string::npos) good = study(any_resonance(0).name, sessions, any_resonance) && good;
  return good ? 0 : 1;
}
