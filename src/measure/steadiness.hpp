// SPDX-License-Identifier: GPL-3.0-or-later
// Whether what was heard is a test tone at all: speech and music change their level, hum and squares are made of many lines.
#pragma once

#include <string>
#include <vector>

#include "measure/listen.hpp"
#include "numeric/matrix.hpp"

namespace evenwall::internal::measure {

/// ln of each frame's level and how far it lies off the middle of its Hann window, in bins: the loss there is made good by the phase's own
/// speed, so that wow is no change of level.
struct TrueLevels {
  std::vector<double> middle_s;
  std::vector<double> ln_level;  ///< −∞ where there is nothing
  std::vector<double> bins;
};
TrueLevels true_levels(const std::vector<double>& middle_s, const std::vector<Complex>& amplitude);

/// Median change of level over a quarter of a second, dB, of frames that follow each other every hop_s; frames left out only make pairs
/// fewer. None where hardly any two frames lie that far apart.
OptionalNumber level_wander_db(const TrueLevels& levels, double hop_s);

/// Where the level before and after differs most (medians of 0.4 s on either side), if that is 1 dB or more.
std::optional<LevelStep> level_step(const TrueLevels& levels);

/// Why a passage is none, for people. Empty: it is one.
std::string why_no_test_tone(const HeardPassage& heard);

}  // namespace evenwall::internal::measure
