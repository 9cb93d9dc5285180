// SPDX-License-Identifier: GPL-3.0-or-later
// Decides whether a passage is a test tone: speech and music change their level, hum and square waves have many lines.
#pragma once

#include <string>
#include <vector>

#include "measure/listen.hpp"
#include "numeric/matrix.hpp"

namespace evenwall::internal::measure {

/// ln of each frame's level, and how far its frequency lies off the middle of its Hann window's response, in bins. The loss there is
/// corrected by means of the frequency that the phase shows, so that wow does not change the level.
struct TrueLevels {
  std::vector<double> middle_s;
  std::vector<double> ln_level;  ///< −∞ if the frame is silent
  std::vector<double> bins;
};
TrueLevels true_levels(const std::vector<double>& middle_s, const std::vector<Complex>& amplitude);

/// Median change of level over a quarter of a second, dB. The frames follow each other every hop_s; missing frames only reduce the number
/// of pairs. Nothing if too few pairs of frames lie that far apart.
OptionalNumber level_wander_db(const TrueLevels& levels, double hop_s);

/// The largest difference between the levels before and after a moment (medians over 0.4 s on either side), if it is 1 dB or more.
std::optional<LevelStep> level_step(const TrueLevels& levels);

/// Reason why a passage is not a test tone, as a text for the user. Empty if it is a test tone.
std::string why_no_test_tone(const HeardPassage& heard);

}  // namespace evenwall::internal::measure
