// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the constants of the fits at other frequencies and over the band, each with its unit and reason. docs/method.md, "The band",
// explains their use.
#pragma once

#include "evenwall/units.hpp"

namespace evenwall::internal::solve {

inline constexpr double kCentreOff = 0.005;  // of a third octave; a frequency that is farther from its centre is not one of them
inline constexpr double kLeastBand = 1.99;   // highest over lowest frequency: an octave, which three base-ten third octaves make 1.995
// At another frequency, the recordings are settled as in the answer if the signal then has at least this p-value.
inline constexpr double kAgreesBeside = 1e-3;
inline constexpr double kContradictsBeside = 1e-9;  // a frequency with a smaller one is not listed
inline constexpr double kGainCourse = 0.005;        // rms share by which the channels' gain ratio varies in a third octave (a judgement)
inline constexpr double kTurnedAgainst = 0.5;       // of the tilts at one frequency that appear with the opposite sign at another: excluded
inline constexpr double kBandTilt_u_rad = radians(1e-4);  // keeps the weight of a recording finite if its tilt has no noise
// The band's optimum begins to count if it differs by more uncertainties and tolerances than these, and lowers the band's total by more
// than kChoiceMatters_db. It counts alone from twice the distance on.
inline constexpr double kBandOver_u = 3.0;

}  // namespace evenwall::internal::solve
