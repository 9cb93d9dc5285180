// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/groove.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "simulate/draw.hpp"

namespace evenwall::internal::simulate {
namespace {

constexpr std::uint64_t kGrooveStream = 7;

}  // namespace

Groove groove_of(const SimulatedRecord& record, std::uint64_t seed) {
  Draw draw{seed, kGrooveStream};
  Groove groove;
  groove.wow_phase_rad = kTwoPi * draw.unit();
  groove.warp_phase_rad = kTwoPi * draw.unit();
  groove.warp_second_phase_rad = kTwoPi * draw.unit();
  for (const SimulatedBand& band : record.bands) {
    groove.bands.push_back({band, groove.duration_s, kTwoPi * draw.unit()});
    groove.duration_s += band.duration_s;
  }
  return groove;
}

double record_angle_rad(const GrooveBand& band, const SimulatedRecord& record, double within_s) {
  return band.turn_rad + kTwoPi * record.rpm / 60.0 * (1 + 0.01 * record.speed_error_percent) * within_s;
}

double lean_deg(const Groove& groove, const SimulatedRecord& record, double angle_rad) {
  return record.warp_deg * std::cos(angle_rad + groove.warp_phase_rad) +
         record.warp_second_deg * std::cos(2 * angle_rad + groove.warp_second_phase_rad);
}

double groove_speed(const Groove& groove, const SimulatedRecord& record, double angle_rad) {
  return (1 + 0.01 * record.speed_error_percent) * (1 + 0.01 * record.wow_percent * std::sin(angle_rad + groove.wow_phase_rad));
}

double cut_frequency_hz(const SimulatedBand& band, double within_s) {
  const double from_hz = band.frequency_hz;
  const double to_hz = band.frequency_to_hz.value_or(from_hz);
  const double share = within_s / band.duration_s;
  if (band.signal == SimulatedSignal::kLogSweep) return from_hz * std::pow(to_hz / from_hz, share);
  if (band.signal == SimulatedSignal::kLinearSweep) return from_hz + (to_hz - from_hz) * share;
  return from_hz;
}

double fade_at(const SimulatedBand& band, double within_s) {
  const double nearest_s = std::min(within_s, band.duration_s - within_s);
  if (nearest_s >= band.fade_s) return 1;
  return nearest_s <= 0 ? 0 : 0.5 - 0.5 * std::cos(std::numbers::pi * nearest_s / band.fade_s);
}

}  // namespace evenwall::internal::simulate
