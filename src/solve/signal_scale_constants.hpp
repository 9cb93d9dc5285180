// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the constants of signal_scale.cpp. Each has its unit and reason; see also docs/method.md.
#pragma once

namespace evenwall::internal::solve {

// signal scale: a driven channel that is compressed makes the crosstalk too large, and so its change with the tilt (judgements)
inline constexpr double kCompressedPrior = 0.02;  // below 2.5 %, so that it alone does not set the end of a 95 % interval
inline constexpr double kCompressed = 0.03;       // mean and standard deviation of the compression if no harmonics are measured
inline constexpr double kCompressed_u = 0.03;
// The same by the third harmonic h: a curve compresses by 3h, and a part of h may be the record's own.
inline constexpr double kCompressionPerThird = 2.2;
inline constexpr double kCompressionPerThird_u = 1.2;
// The prior probability rises with h from here on, since third harmonics up to 0.5 % are usual on records, and by most of the rest within
// the next 0.4 %.
inline constexpr double kUsualThird = 0.005;
inline constexpr double kManyThird = 0.004;
inline constexpr double kCompressedMost = 0.6;
inline constexpr double kMostThird_percent = 20;  // a larger number is no third harmonic of a test tone
// Of a turn by the crosstalk alone: usual, and by the third harmonic as far as it is usual on records.
inline constexpr double kTurnScale_u = 0.002;
inline constexpr double kTurnScalePerThird = 2;
inline constexpr double kCompressedWorthTelling = 0.5;  // probability
inline constexpr double kLeastSignalCase = 1e-4;        // probability; a less likely account is not split
inline constexpr double kLeastSignalScale = 0.1;        // 1 + s; a stated slope_u of one and more would reach zero
inline constexpr double kLeastFromSteps = 1e-9;         // of the prior's precision; below it, the steps do not show the scale
inline constexpr double kScaleWorthTelling = 0.004;  // standard uncertainty of the signal's scale, from which the budget has a row for it

}  // namespace evenwall::internal::solve
