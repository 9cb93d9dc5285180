// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the constants by which the recording of a record is recognised where one of electronics is expected.
#pragma once

#include <cstddef>

namespace evenwall::internal::measure {

inline constexpr double kPitchMean_s = 0.25;               // a turn lasts 1.8 s at 33 1/3 rpm and 0.77 s at 78 rpm
inline constexpr std::size_t kLeastPitchMeans = 4;         // fewer have no median deviation worth the name
inline constexpr double kMedianDeviationOverSd = 0.67449;  // of a normal distribution

// Percent. The limit lies between the largest figure of electronics and the smallest one of records. Figures for tones of 100 Hz to 10 kHz
// of 1.5 s to 9 s (tests/unit/measure/record_signs_test.cpp and tests/cli/calibrate_test.py have the same kinds):
//   electronics: clean, or clocks 50 ppm apart 0.00000; noise -40 dB 0.0007; hum -20 dB with noise -40 dB 0.0002;
//                an oscillator that wanders by 10 ppm in a second 0.0014; one that drifts by 10 ppm each second for 9 s 0.0033
//   records:     wow of 0.01 % (the best turntables, common practice, no source), no noise 0.0059; wow of 0.02 % 0.0133; 0.05 % 0.029;
//                0.1 % with flutter of 0.05 % 0.050
inline constexpr double kRecordPitchWander_percent = 0.005;

}  // namespace evenwall::internal::measure
