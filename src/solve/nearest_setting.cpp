// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/nearest_setting.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "solve/curves.hpp"

namespace evenwall::internal::solve {

double nearest_reachable(const Adjuster& adjuster, double wanted) {
  assert(adjuster.step ? *adjuster.step > 0 : !adjuster.stops.empty());
  if (adjuster.step) return *adjuster.step * std::ceil(wanted / *adjuster.step - 0.5) + 0.0;  // no negative zero
  const auto nearer = [&](double a, double b) { return std::pair(std::abs(a - wanted), a) < std::pair(std::abs(b - wanted), b); };
  return *std::min_element(adjuster.stops.begin(), adjuster.stops.end(), nearer);
}

std::optional<NearestSetting> nearest_setting_of(const Solution& solution, const JointFit& joint, const TiltAccount& account) {
  const auto& adjuster = solution.session.settings;
  const double scale = solution.tilt_response.degrees_per_unit;
  if (!adjuster || joint.counts_from || joint.single_unit_step || scale == 0) return std::nullopt;
  const Recommended& r = solution.recommended;
  if (!joint.observations.in_degrees && !r.tilt_units) return std::nullopt;
  // On a gauge in degrees the number to set is tilt_units, too, if the steps bound it.
  const double wanted = r.tilt_units.value_or(r.tilt_deg);
  if (!std::isfinite(wanted)) return std::nullopt;
  NearestSetting nearest;
  nearest.setting = nearest_reachable(*adjuster, wanted);
  nearest.from_recommended_deg = scale * (nearest.setting - wanted);
  nearest.tilt_deg = r.tilt_deg + nearest.from_recommended_deg;
  const double cut_error_deg = solution.options.record_correction ? solution.options.record_correction->cut_error_deg : 0.0;
  nearest.cost_db = rms_crosstalk_db(nearest.tilt_deg + cut_error_deg, account) - rms_crosstalk_db(r.tilt_deg + cut_error_deg, account);
  return nearest;
}

}  // namespace evenwall::internal::solve
