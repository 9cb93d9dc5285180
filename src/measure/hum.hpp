// SPDX-License-Identifier: GPL-3.0-or-later
// Mains hum beside a tone, and hum that would pass for one.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall::internal::measure {

struct Hum {
  double mains_hz = 0;       ///< 50 or 60, whichever is louder; 0 where neither stands out of the noise
  double level_dbfs = -200;  ///< of the louder channel: lines of the mains and its first five harmonics together, rms as of a tone
  bool is_the_tone = false;  ///< the tone lies on the mains' grid, other lines stand beside it, and it goes on before or after the stretch
};

/// Looks at the stretch in long Hann frames (0.7 s) and a little before and after it.
///
/// Requires: frequency_hz > 0. A line counts where it stands 10 dB over its surroundings. Lines at the tone itself do not count as hum
/// unless is_the_tone. Throws: Error(kInput) where the source fails.
Hum hum_beside(AudioSource& source, double start_s, double end_s, double frequency_hz);

}  // namespace evenwall::internal::measure
