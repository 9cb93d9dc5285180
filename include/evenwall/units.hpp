// SPDX-License-Identifier: GPL-3.0-or-later
// Converts between units (decibels, degrees, radians) and holds constants that all modules share.
#pragma once

#include <cmath>
#include <complex>
#include <numbers>

namespace evenwall {

using Complex = std::complex<double>;

/// One degree in radians.
inline constexpr double kRadPerDeg = std::numbers::pi / 180.0;

/// A full turn in radians.
inline constexpr double kTwoPi = 2.0 * std::numbers::pi;

/// Degrees to radians and back. The sign is kept.
constexpr double radians(double angle_deg) { return angle_deg * kRadPerDeg; }
constexpr double degrees(double angle_rad) { return angle_rad / kRadPerDeg; }

/// 20·log10 of an amplitude ratio. Requires: ratio > 0 (0 gives −infinity).
inline double decibels(double amplitude_ratio) { return 20.0 * std::log10(amplitude_ratio); }
/// The amplitude ratio of a level: 10^(dB/20), above zero.
inline double amplitude_ratio(double level_db) { return std::pow(10.0, level_db / 20.0); }

/// Speed of a record in turns per minute, if none is stated: 33⅓.
inline constexpr double kNominalRpm = 100.0 / 3.0;
/// Largest tilt to either side in degrees. Beyond it, no stylus sits in a groove.
inline constexpr double kMostTilt_deg = 45.0;
/// Of several frequencies, the one nearest to this is used, unless the user asks for another.
inline constexpr double kWantedFrequency_hz = 1000.0;
/// A frequency that the user asks for is matched within this share of it.
inline constexpr double kFrequencyMatch = 0.05;

/// Decibels per unit of natural logarithm of an amplitude: 20/ln 10.
inline constexpr double kDbPerNeper = 20.0 / std::numbers::ln10;

/// Phase of z in degrees, in (−180, 180]; positive: z leads. 0 has phase 0.
inline double phase_deg(Complex z) { return degrees(std::arg(z)); }

}  // namespace evenwall
