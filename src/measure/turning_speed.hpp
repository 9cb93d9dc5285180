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

/// That speed alone; where none is stated, what records are made for (judgements).
std::vector<PossibleSpeed> possible_speeds(std::optional<double> stated_rpm);

/// The driven tone's pitch along a course, beside its middle one, without what stands out as a click.
struct PitchCourse {
  std::vector<double> time_s;
  std::vector<double> hertz;
};
PitchCourse pitch_of(const RatioCourse& course, const std::vector<double>& weights);

/// How much better each speed explains the pitch's course by what recurs once and twice a turn: ln evidence, the best one's 0, halved, as
/// flutter hangs together. All 0 where the course is too short to tell.
std::vector<double> wow_evidence(const PitchCourse& pitch, const std::vector<double>& rpm);

}  // namespace evenwall::internal::measure
