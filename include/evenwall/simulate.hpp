// SPDX-License-Identifier: GPL-3.0-or-later
// Simulates captures with known true values from a scenario and a seed. Shares no code with the analysis.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall {

/// The signal in a band of the simulated record. In this file, angles are in degrees, positive clockwise seen from the front.
enum class SimulatedSignal { kTone, kLogSweep, kLinearSweep, kPinkNoise, kWhiteNoise };

/// One band of the simulated record, in playing order.
struct SimulatedBand {
  std::optional<Band> band;    ///< absent: silent groove
  double frequency_hz = 1000;  ///< of a tone; start of a sweep; for noise: frequency of all frequency-dependent effects
  double duration_s = 5.4;
  double level_dbfs = -12;  ///< of the driven channel's tone (peak of the sine relative to full scale), before gains; noise: same rms
  double fade_s = 0.05;     ///< raised-cosine fade in and out
  SimulatedSignal signal = SimulatedSignal::kTone;
  OptionalNumber frequency_to_hz{};  ///< end of a sweep
};

/// The test record as cut and pressed. All of it except the flutter is locked to the groove and is the same at every step.
struct SimulatedRecord {
  double rpm = 100.0 / 3.0;
  std::vector<SimulatedBand> bands;
  double cut_error_left_deg = 0;       ///< κ_L, clockwise
  double cut_error_right_deg = 0;      ///< κ_R
  double cut_level_difference_db = 0;  ///< left-only over right-only band as cut
  double wow_percent = 0;              ///< once per revolution, peak
  double warp_deg = 0;                 ///< once-per-revolution lean of the groove, peak
  double warp_second_deg = 0;          ///< twice per revolution, peak
  double flutter_percent = 0;          ///< rms, of the turntable; not locked to the groove
  double speed_error_percent = 0;
};

/// A resonance of the generator. It adds coupling with a second-order response whose peak value is given here for each direction.
struct SimulatedResonance {
  double frequency_hz = 8000;
  double q = 3;
  Complex right_into_left;  ///< added to C[0][1] at the peak
  Complex left_into_right;  ///< added to C[1][0] at the peak
};

/// The cartridge and the electronics that follow it.
struct SimulatedCartridge {
  double generator_error_left_deg = 0;   ///< δ_L
  double generator_error_right_deg = 0;  ///< δ_R
  Complex coupling_right_into_left;      ///< C[0][1]
  Complex coupling_left_into_right;      ///< C[1][0]
  double gain_imbalance_db = 0;          ///< left over right
  double interchannel_phase_deg = 0;     ///< positive: left leads, by this phase at every frequency
  double left_delay_s = 0;               ///< positive: left is late by this time
  double second_harmonic_percent = 0;
  double third_harmonic_percent = 0;
  Matrix2 electronics{Complex{1, 0}, Complex{0, 0}, Complex{0, 0}, Complex{1, 0}};
  bool channels_swapped = false;
  bool right_polarity_reversed = false;
  std::vector<SimulatedResonance> resonances{};
};

/// Disturbances that are added to both output channels.
struct SimulatedNoise {
  OptionalNumber surface_noise_db;  ///< broadband rms in each output channel, relative to the rms of a full band's tone; absent: no noise
  double clicks_per_s = 0;
  double click_peak_db = 6;  ///< typical click peak relative to the tone's peak
  OptionalNumber rumble_db;  ///< below about 30 Hz, relative to the tone's rms
  OptionalNumber hum_db;     ///< relative to the tone's rms
  double hum_frequency_hz = 50;
  double dc_left = 0;  ///< fraction of full scale
  double dc_right = 0;
};

/// One setting of the tilt, with a capture of the whole record.
struct SimulatedStep {
  double tilt_deg = 0;  ///< as set on the gauge and logged
  StepUse use = StepUse::kYes;
};

/// All values that define a simulated session.
struct Scenario {
  std::string name;
  double sample_rate_hz = 48000;
  int bits = 24;  ///< 16 or 24 (PCM), 32 (float)
  SimulatedRecord record;
  SimulatedCartridge cartridge;
  SimulatedNoise noise;
  std::vector<SimulatedStep> steps;
  double gauge_error_u_deg = 0;  ///< standard deviation of true minus logged tilt
  double gauge_zero_deg = 0;     ///< true tilt at logged zero
  double gauge_scale = 1;        ///< true degrees per logged degree
  OptionalNumber units_per_deg;  ///< if set, the log is in tilt_units: logged = tilt_deg · units_per_deg
  SessionFacts session;          ///< written to session.json
};

/// The result of a perfect analysis, computed by brute force from the scenario (no code shared with solve).
struct SimulatedTruth {
  double least_crosstalk_deg = 0;      ///< on the logged (gauge) scale
  OptionalNumber equal_crosstalk_deg;  ///< absent if there is no equal point within ±10°
  OptionalNumber phase_match_deg;
  double frequency_hz = 0;
  double balance_db = 0;  ///< true gain ratio incl. coupling at least crosstalk: |M_LL/M_RR| with cut levels equal
  double interchannel_phase_deg = 0;
  double crosstalk_right_into_left_db = 0;  ///< at least crosstalk, against the receiving channel's own level
  double crosstalk_left_into_right_db = 0;
  struct AtStep {
    double logged_deg = 0;
    double true_tilt_deg = 0;
    Complex right_into_left_same_passage;  ///< L/R on a right-only band
    Complex left_into_right_same_passage;  ///< R/L on a left-only band
  };
  std::vector<AtStep> steps;
};

/// The captures of a scenario, made on demand, and their true values. The same scenario and seed give the same result on machines with the
/// same doubles and math library. Accuracy: true values are found by bisection, to rounding.
class SimulatedSession {
 public:
  /// Throws: Error(kInput) with the name of a value that is out of range.
  SimulatedSession(Scenario scenario, std::uint64_t seed);

  [[nodiscard]] const Scenario& scenario() const { return scenario_; }
  [[nodiscard]] const SimulatedTruth& truth() const { return truth_; }
  [[nodiscard]] std::size_t size() const { return scenario_.steps.size(); }
  /// The capture of one step, generated while it is read. It may be used after the session is destroyed. Requires: index < size().
  [[nodiscard]] std::unique_ptr<AudioSource> capture(std::size_t index) const;

 private:
  Scenario scenario_;
  std::uint64_t seed_;
  SimulatedTruth truth_;
};

/// A random but plausible scenario for tests against true values: five tilts from −2° to 2°, bands left, right (each `passage_s` long) and
/// lateral (3 s) at 1 kHz, with noise, clicks, rumble, hum, wow, flutter and warp. The seed determines the scenario.
Scenario random_scenario(std::uint64_t seed, double passage_s);

}  // namespace evenwall
