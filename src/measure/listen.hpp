// SPDX-License-Identifier: GPL-3.0-or-later
// One passage heard closely: the complex ratio of its channels and what else it tells.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "measure/hum.hpp"
#include "measure/interruptions.hpp"
#include "measure/passages.hpp"
#include "measure/sample_faults.hpp"

namespace evenwall::internal::measure {

/// A change of level within a passage.
struct LevelStep {
  double at_s = 0;
  double change_db = 0;
};

struct HeardPassage {
  Passage passage;
  ComplexEstimate ratio;  ///< quiet over driven channel; left over right where both are driven
  double ln_level = 0;    ///< ln of the driven channel's amplitude (both: of the right one's), full scale = 1
  double u_ln_level = 0;
  std::array<Complex, 2> once_per_revolution{};  ///< cosine and sine part of the ratio's modulation
  OptionalNumber found_rpm;                      ///< where no speed was stated and it is not the nominal one
  bool whole_revolution = false;                 ///< long enough to tell warp from leak
  OptionalNumber band_db;
  double clipped_fraction = 0;  ///< the worse channel
  double dc = 0;                ///< the larger mean of the two channels, full scale = 1
  double not_finite_fraction = 0;
  double lost_fraction = 0;             ///< of the inner frames: amplitude outside 0.5 to 1.5 of its median
  double rejected_fraction = 0;         ///< of the frames used: down-weighted as clicks
  OptionalNumber level_wander_db;       ///< median change of level over a quarter of a second; none: too broken to tell
  std::optional<LevelStep> level_step;  ///< the largest, where it is worth a word
  Hum hum;
  std::vector<Interval> silences;  ///< from and to, seconds: digital silence between the passage's ends
  std::vector<PhaseJump> phase_jumps;
  OptionalNumber delay_jump_s;  ///< when the channels slip by a sample against each other, if both are driven
  double u_rounding = 0;        ///< of the ratio, a part of its uncertainty: what the file's step hides
  OptionalNumber quiet_steps;   ///< amplitude of the quiet channel in steps of the file, where the step hides its last digits
};

/// Reads the stretch and fits it; a stretch of more than two minutes in parts (long_passages.hpp). Nothing if too little of it can be used.
/// Source: docs/method.md, "One leak".
std::optional<HeardPassage> listen(AudioSource& source, const ToneStretch& stretch, OptionalNumber rpm);

/// What both channels' samples say: clipped and not finite shares, the larger DC.
void set_faults(HeardPassage& heard, const SampleFaults& left, const SampleFaults& right);

}  // namespace evenwall::internal::measure
