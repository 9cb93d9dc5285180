// SPDX-License-Identifier: GPL-3.0-or-later
// Measures one tone passage: the complex ratio of its channels, its level and its faults.
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
  ComplexEstimate ratio;  ///< undriven over driven channel; left over right if both are driven
  double ln_level = 0;    ///< ln of the driven channel's amplitude (of the right one's if both are driven), full scale = 1
  double u_ln_level = 0;
  std::array<Complex, 2> once_per_revolution{};  ///< cosine and sine amplitudes of the ratio's modulation
  OptionalNumber found_rpm;                      ///< set if no speed was stated and the record surely does not turn at the nominal one
  bool whole_revolution = false;                 ///< the passage is long enough to separate warp from crosstalk
  OptionalNumber band_db;
  double clipped_fraction = 0;  ///< of the worse channel
  double dc = 0;                ///< mean of the channel in which it is larger, full scale = 1
  double not_finite_fraction = 0;
  double lost_fraction = 0;             ///< share of the inner frames with an amplitude outside 0.5 to 1.5 of the local median
  double rejected_fraction = 0;         ///< share of the frames used that are down-weighted as clicks
  OptionalNumber pitch_wander_percent;  ///< of a tone (pitch_wander.hpp)
  OptionalNumber level_wander_db;       ///< median change of level over a quarter of a second; empty if too few frames remain
  std::optional<LevelStep> level_step;  ///< the largest one, if it is large enough to be reported
  Hum hum;
  std::vector<Interval> silences;  ///< start and end of each digital silence between the passage's ends, in seconds
  std::vector<PhaseJump> phase_jumps;
  OptionalNumber delay_jump_s;  ///< time at which the channels slip by one sample against each other, if both are driven
  double u_rounding = 0;        ///< the part of the ratio's uncertainty that rounding to the file's step causes
  OptionalNumber quiet_steps;   ///< amplitude of the undriven channel in steps of the file, if rounding matters there
};

/// Reads the stretch and fits its ratio; a stretch of more than two minutes is fitted in parts (long_passages.hpp). Empty if too few frames
/// can be used. Source: docs/method.md, "The same-passage ratio".
std::optional<HeardPassage> listen(AudioSource& source, const ToneStretch& stretch, OptionalNumber rpm);

/// Sets the shares of clipped and of non-finite samples, and the larger DC of the two channels.
void set_faults(HeardPassage& heard, const SampleFaults& left, const SampleFaults& right);

}  // namespace evenwall::internal::measure
