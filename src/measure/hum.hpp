// SPDX-License-Identifier: GPL-3.0-or-later
// Measures mains hum beside a tone, and detects hum that could be mistaken for a tone.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall::internal::measure {

struct Hum {
  double mains_hz = 0;       ///< 50 or 60, whichever is louder; 0 if neither exceeds the noise
  double level_dbfs = -200;  ///< of the mains and its first five harmonics together, in the louder channel; rms as of a tone
  bool is_the_tone = false;  ///< the tone is a multiple of the mains, other multiples exist, and it continues before or after the stretch
};

/// Examines the stretch in long Hann frames (0.7 s), and short stretches before and after it.
///
/// A line counts if it exceeds its surroundings by 10 dB. A line at the tone itself is not part of level_dbfs; is_the_tone shows whether it
/// is hum. Requires: frequency_hz > 0. Throws: Error(kInput) if the source fails.
Hum hum_beside(AudioSource& source, double start_s, double end_s, double frequency_hz);

}  // namespace evenwall::internal::measure
