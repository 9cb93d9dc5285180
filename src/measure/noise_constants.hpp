// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the constants with which noise is measured in third octaves, each with its unit and reason. docs/method.md, "Noise bands", explains
// their use.
#pragma once

#include <cstddef>

namespace evenwall::internal::measure {

inline constexpr double kNoiseFrame_s = 0.0854;  // 4096 samples at 48 kHz; the third octave at 100 Hz holds two lines
// Lines of a third octave, for one to six terms of the ratio's course in it.
inline constexpr std::size_t kLinesOfCourse[] = {2, 4, 6, 8, 10, 12};
inline constexpr std::ptrdiff_t kFramesOfTerm = 6;  // frames at least for each fitted term
inline constexpr double kNoiseEdge_s = 0.06;        // the scan places an edge to about one step
inline constexpr std::size_t kLeastNoiseFrames = 24;
inline constexpr double kNoiseLowest_hz = 89.0;  // lower edge of the 100 Hz band
inline constexpr double kEmptyBand_db = 30.0;    // a band this far below the middle one holds no test noise

}  // namespace evenwall::internal::measure
