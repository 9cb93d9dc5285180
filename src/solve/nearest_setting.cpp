// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/nearest_setting.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include "solve/curves.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {

std::optional<double> nearest_reachable(const Adjuster& adjuster, double wanted, const Interval& bounds) {
  assert(adjuster.step ? *adjuster.step > 0 : !adjuster.stops.empty());
  if (adjuster.step) {
    const double step = *adjuster.step;
    const double lowest = std::ceil(bounds[0] / step), highest = std::floor(bounds[1] / step);
    if (lowest > highest) return std::nullopt;
    return step * std::clamp(std::ceil(wanted / step - 0.5), lowest, highest) + 0.0;  // no negative zero
  }
  std::optional<double> best;
  const auto rank = [&](double setting) { return std::pair(std::abs(setting - wanted), setting); };
  for (const double stop : adjuster.stops) {
    if (bounds[0] <= stop && stop <= bounds[1] && (!best || rank(stop) < rank(*best))) best = stop;
  }
  return best;
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
  const double limit_deg = solution.contact.limit_deg.value_or(kMostTilt_deg);
  const auto& stylus = solution.session.stylus;
  const double upright_deg = solution.contact.limit_deg && stylus ? stylus->upright_at_deg.value_or(0.0) : 0.0;
  const double one_end = wanted + (upright_deg - limit_deg - r.tilt_deg) / scale;
  const double other_end = wanted + (upright_deg + limit_deg - r.tilt_deg) / scale;
  const auto setting = nearest_reachable(*adjuster, wanted, {std::min(one_end, other_end), std::max(one_end, other_end)});
  if (!setting) return std::nullopt;
  NearestSetting nearest;
  nearest.setting = *setting;
  nearest.from_recommended_deg = scale * (nearest.setting - wanted);
  nearest.tilt_deg = r.tilt_deg + nearest.from_recommended_deg;
  const double cut_error_deg = solution.options.record_correction ? solution.options.record_correction->cut_error_deg : 0.0;
  nearest.cost_db = rms_crosstalk_db(nearest.tilt_deg + cut_error_deg, account) - rms_crosstalk_db(r.tilt_deg + cut_error_deg, account);
  return nearest;
}

}  // namespace evenwall::internal::solve
