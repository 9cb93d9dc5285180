// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the groove of a simulated record: its bands with their times and frequencies, its lean and its speed.
#pragma once

#include <vector>

#include "evenwall/simulate.hpp"

namespace evenwall::internal::simulate {

/// One band with its time and its place on the record.
struct GrooveBand {
  SimulatedBand band;
  double start_s = 0;   ///< playing time from the start of the first band
  double turn_rad = 0;  ///< angle of the record at the start
};

/// The whole groove. Its phases depend only on the scenario's seed, so that every step plays the same groove.
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
/// Lean of the groove at this angle of the record, degrees.
double lean_deg(const Groove& groove, const SimulatedRecord& record, double angle_rad);
/// Speed of the groove under the stylus divided by the nominal speed, from wow and the turntable's speed error; without flutter.
double groove_speed(const Groove& groove, const SimulatedRecord& record, double angle_rad);
/// Frequency as cut: that of a tone, or that of a sweep at this time. For noise, the frequency at which the cartridge's response is taken.
double cut_frequency_hz(const SimulatedBand& band, double within_s);
inline bool is_noise(const SimulatedBand& band) {
  return band.signal == SimulatedSignal::kPinkNoise || band.signal == SimulatedSignal::kWhiteNoise;
}
/// Raised-cosine fade, 0 to 1.
double fade_at(const SimulatedBand& band, double within_s);

}  // namespace evenwall::internal::simulate
