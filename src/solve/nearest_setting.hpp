// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the setting of an adjuster with steps or stops that is nearest to the recommended azimuth.
#pragma once

#include <optional>

#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// The reachable number within the bounds that is nearest to a number on the gauge. Of two that are equally near, it is the lower one.
/// Empty if no number lies there. Requires: a step greater than zero, or at least one stop.
std::optional<double> nearest_reachable(const Adjuster& adjuster, double wanted, const Interval& bounds);

/// Within the contact limit, if there is one, and within 45° otherwise. Empty if the session states no settings, if none lies there, if no
/// log connects the azimuth to a number on the gauge, or if that number is not known.
/// `account`: that of the answer (curves.hpp). Requires: solution.recommended, tilt_response and contact are final, and corrected for the
/// record if it is to be corrected.
std::optional<NearestSetting> nearest_setting_of(const Solution& solution, const JointFit& joint, const TiltAccount& account);

}  // namespace evenwall::internal::solve
