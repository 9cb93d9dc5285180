// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the A-weighting of sound levels.
#pragma once

namespace evenwall::internal::numeric {

/// A-weighting at a frequency, dB; 0 dB at 1 kHz. Requires: frequency_hz > 0.
/// Source: IEC 61672-1:2013, annex E, with its four pole frequencies rounded as they are usually printed. Accuracy: 0.01 dB of the exact
/// formula from 10 Hz to 20 kHz.
double a_weighting_db(double frequency_hz);

}  // namespace evenwall::internal::numeric
