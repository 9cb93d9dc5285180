// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the fitted crosstalk as a function of tilt.
#pragma once

#include "evenwall/model.hpp"
#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Level of the crosstalk in one direction at a tilt, and its 95 % band.
struct LevelAt {
  double db = 0;
  double u_magnitude = 0;
  Interval band95_db{};
};
struct LeakLevels {
  LevelAt right_into_left, left_into_right;
};
/// tilt_deg: true degrees. Levels are relative to the receiving channel's own level.
LeakLevels leak_levels(double tilt_deg, const TiltAccount& account);
/// The same at a setting on the log's gauge. The uncertainty of the gauge's scale counts, so it grows away from the fitted settings.
LeakLevels leak_levels_at_setting(double setting, const TiltAccount& account);

/// The likeliest account, with its least crosstalk where the answer states it. The answer is the median over all accounts, and a level
/// depends on the distance from least crosstalk. `least`: that median.
TiltAccount account_of_answer(const TiltFit& fit, const CriterionTilt& least);

/// Curves over the captured tilts and the recommended one, with a margin on both sides.
Curves crosstalk_curves(const JointFit& joint, const TiltAccount& account, double recommended_deg);

/// 10·log10 of the mean square of the crosstalk in both directions.
double rms_crosstalk_db(double tilt_deg, const TiltAccount& account);

}  // namespace evenwall::internal::solve
