// SPDX-License-Identifier: GPL-3.0-or-later
// Determines from the pitch of the tone how fast the record turns.
#pragma once

#include <optional>
#include <vector>

#include "measure/ratio_course.hpp"

namespace evenwall::internal::measure {

struct PossibleSpeed {
  double rpm = 0;
  double share = 0;  ///< prior probability
};

/// The stated speed alone. If none is stated: the speeds for which records are made, with prior probabilities (judgements).
std::vector<PossibleSpeed> possible_speeds(std::optional<double> stated_rpm);

/// Deviation of the driven tone's frequency from its median along a course; outliers (clicks) are excluded.
struct PitchCourse {
  std::vector<double> time_s;
  std::vector<double> hertz;
};
PitchCourse pitch_of(const RatioCourse& course, const std::vector<double>& weights);

/// Evidence of each speed: the logarithm of how well changes that recur once and twice a turn explain the pitch. The best speed has 0. The
/// values are halved because flutter is correlated from block to block. All are 0 if the course is too short.
std::vector<double> wow_evidence(const PitchCourse& pitch, const std::vector<double>& rpm);

}  // namespace evenwall::internal::measure
