// Whether what was heard is a test tone at all: speech and music change their level, hum and squares are made of many lines.
#pragma once

#include <string>
#include <vector>

#include "measure/listen.hpp"
#include "numeric/matrix.hpp"

namespace evenwall {

/// Median change of level over a quarter of a second, dB, of frames that follow each other every hop_s; frames left out only make pairs
/// fewer. A detuned frame's loss in its Hann window is made good by the phase's own speed, so that wow is no change of level. None where
/// hardly any two frames lie that far apart.
OptionalNumber level_wander_db(const std::vector<double>& middle_s, const std::vector<Complex>& amplitude, double hop_s);

/// Where the level before and after differs most (medians of 0.4 s on either side), if that is 1 dB or more.
std::optional<LevelStep> level_step(const std::vector<double>& middle_s, const std::vector<Complex>& amplitude);

/// The level around each frame: running median over three quarters of a second. A step of level divides no passage.
std::vector<double> local_levels(const std::vector<double>& sizes, double hop_s);

/// Why a passage is none, for people. Empty: it is one.
std::string why_no_test_tone(const HeardPassage& heard);

}  // namespace evenwall
