// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/playback.hpp"

#include <cmath>
#include <numbers>

namespace evenwall::internal::simulate {
namespace {

constexpr Vector2 kLeftWall{std::numbers::sqrt2 / 2, std::numbers::sqrt2 / 2};
constexpr Vector2 kRightWall{std::numbers::sqrt2 / 2, -std::numbers::sqrt2 / 2};

double dot(Vector2 a, Vector2 b) { return a[0] * b[0] + a[1] * b[1]; }

Vector2 scaled_sum(double a, Vector2 u, double b, Vector2 v) { return {a * u[0] + b * v[0], a * u[1] + b * v[1]}; }

}  // namespace

Vector2 turned(Vector2 v, double angle_deg) {
  const double c = std::cos(radians(angle_deg));
  const double s = std::sin(radians(angle_deg));
  return {c * v[0] + s * v[1], -s * v[0] + c * v[1]};
}

Vector2 stylus_motion(const std::optional<Band>& band, const SimulatedRecord& record) {
  if (!band) return {0, 0};
  const Vector2 left = turned(kLeftWall, record.cut_error_left_deg);
  const Vector2 right = turned(kRightWall, record.cut_error_right_deg);
  switch (*band) {
    case Band::kLeft:
      return scaled_sum(amplitude_ratio(record.cut_level_difference_db), left, 0, right);
    case Band::kRight:
      return right;
    case Band::kLateral:
      return scaled_sum(1, left, 1, right);
    case Band::kVertical:
      return scaled_sum(1, left, -1, right);
  }
  return {0, 0};
}

Outputs generator_outputs(Vector2 motion, double tilt_deg, double frequency_hz, const SimulatedCartridge& cartridge) {
  const double left = dot(turned(kLeftWall, tilt_deg + cartridge.generator_error_left_deg), motion);
  const double right = dot(turned(kRightWall, tilt_deg + cartridge.generator_error_right_deg), motion);
  Complex right_into_left = cartridge.coupling_right_into_left;
  Complex left_into_right = cartridge.coupling_left_into_right;
  for (const SimulatedResonance& r : cartridge.resonances) {
    const Complex s(0, frequency_hz / r.frequency_hz);
    const Complex response = (s / r.q) / (1.0 + s / r.q + s * s);
    right_into_left += r.right_into_left * response;
    left_into_right += r.left_into_right * response;
  }
  return {left + right_into_left * right, right + left_into_right * left};
}

Outputs chain_outputs(const Outputs& generator, double frequency_hz, const SimulatedCartridge& cartridge) {
  const double half_db = 0.5 * cartridge.gain_imbalance_db;
  const double lead_rad = radians(cartridge.interchannel_phase_deg) - 2 * std::numbers::pi * frequency_hz * cartridge.left_delay_s;
  const Complex left = generator.left * std::polar(amplitude_ratio(half_db), lead_rad);
  const Complex right = generator.right * amplitude_ratio(-half_db);
  const Matrix2& e = cartridge.electronics;
  Outputs out{e[0] * left + e[1] * right, e[2] * left + e[3] * right};
  if (cartridge.right_polarity_reversed) out.right = -out.right;
  if (cartridge.channels_swapped) std::swap(out.left, out.right);
  return out;
}

}  // namespace evenwall::internal::simulate
