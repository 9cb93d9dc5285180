// SPDX-License-Identifier: GPL-3.0-or-later
// The record under the stylus: what it plays when, and how it leans and drifts.
#pragma once

#include <vector>

#include "evenwall/simulate.hpp"

namespace evenwall::internal::simulate {

/// One band with what is locked to its place on the record.
struct GrooveBand {
  SimulatedBand band;
  double start_s = 0;   ///< of playing time, from the start of the first band
  double turn_rad = 0;  ///< angle of the record there
};

/// The whole groove; phases by the scenario's seed alone, so that every step plays the same groove.
struct Groove {
  std::vector<GrooveBand> bands;
  double duration_s = 0;
  double wow_phase_rad = 0;
  double warp_phase_rad = 0;
  double warp_second_phase_rad = 0;
};
Groove groove_of(const SimulatedRecord& record, std::uint64_t seed);

/// Angle of the record in a band, `within_s` after its start.
double record_angle_rad(const GrooveBand& band, const SimulatedRecord& record, double within_s);
/// Lean of the groove there, degrees.
double lean_deg(const Groove& groove, const SimulatedRecord& record, double angle_rad);
/// Speed of the groove under the stylus over nominal, by eccentricity and the turntable's error; flutter comes on top.
double groove_speed(const Groove& groove, const SimulatedRecord& record, double angle_rad);
/// Frequency as cut: of a tone, of a sweep at that place; of noise the frequency at which it meets the cartridge's response.
double cut_frequency_hz(const SimulatedBand& band, double within_s);
inline bool is_noise(const SimulatedBand& band) {
  return band.signal == SimulatedSignal::kPinkNoise || band.signal == SimulatedSignal::kWhiteNoise;
}
/// Raised-cosine fade, 0 to 1.
double fade_at(const SimulatedBand& band, double within_s);

}  // namespace evenwall::internal::simulate
