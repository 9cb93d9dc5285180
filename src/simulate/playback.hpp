// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the two output voltages from the groove's motion.
#pragma once

#include <array>
#include <optional>

#include "evenwall/simulate.hpp"

namespace evenwall::internal::simulate {

using Vector2 = std::array<double, 2>;

/// Outputs of the left and right channel.
struct Outputs {
  Complex left;
  Complex right;
};

/// Stylus motion (x to the viewer's right, y up) of one band of the record, as cut; zero for a quiet groove.
/// Left-only moves along (1, 1)/√2, right-only along (1, −1)/√2 (inner wall left, outer wall right: IEC 60098:2020, 6.2.1); lateral is
/// both in phase, vertical both in antiphase (6.2.2; both seen in excerpts).
Vector2 stylus_motion(const std::optional<Band>& band, const SimulatedRecord& record);

/// Rotates clockwise as seen from the front.
Vector2 turned(Vector2 v, double angle_deg);

/// Outputs of the generator with its couplings and resonances at one frequency, without gains, electronics or wiring.
Outputs generator_outputs(Vector2 motion, double tilt_deg, double frequency_hz, const SimulatedCartridge& cartridge);

/// Applies gains, inter-channel phase and delay, electronics and wiring.
Outputs chain_outputs(const Outputs& generator, double frequency_hz, const SimulatedCartridge& cartridge);

}  // namespace evenwall::internal::simulate
