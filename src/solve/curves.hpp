// SPDX-License-Identifier: GPL-3.0-or-later
// Crosstalk as a function of tilt, as fitted.
#pragma once

#include "evenwall/model.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// One leak's level at a tilt and its 95 % band.
struct LevelAt {
  double db = 0;
  double u_magnitude = 0;
  Interval band95_db{};
};
struct LeakLevels {
  LevelAt right_into_left, left_into_right;
};
/// tilt_deg: true degrees. Against the receiving channel's own level.
LeakLevels leak_levels(double tilt_deg, const TiltAccount& account);

/// Over the captured tilts and the recommendation, with a margin.
Curves crosstalk_curves(const JointFit& joint, double recommended_deg);

/// 10·log10 of the mean of both leaks' squares.
double rms_crosstalk_db(double tilt_deg, const TiltAccount& account);

}  // namespace evenwall::internal::solve
