// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/answer_warnings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

/// Whether a tilt is outside the 95 % interval of a criterion, and far enough from its tilt to matter.
bool outside_interval(const Criterion& criterion, double tilt_deg) {
  const double half_deg = 0.5 * ((*criterion.interval95_deg)[1] - (*criterion.interval95_deg)[0]);
  return std::abs(*criterion.tilt_deg - tilt_deg) > std::max(kDisagree_deg, half_deg);
}

}  // namespace

void warn_of_answer(Solution& solution, const JointFit& joint) {
  std::vector<double> tilts_deg;
  for (std::size_t row = 0; row < joint.observations.fitted.size(); ++row) tilts_deg.push_back(fitted_tilt_deg(joint, row));
  const auto [lowest, highest] = std::minmax_element(tilts_deg.begin(), tilts_deg.end());
  const double low = *lowest, high = *highest;
  const double tilt = solution.recommended.tilt_deg;
  if (low < high && (tilt < low - kBeyond_deg || tilt > high + kBeyond_deg)) {
    solution.warnings.push_back(
        {WarningCode::kExtrapolated,
         fmt::format("the answer lies outside the captured tilts ({:+.2f}° to {:+.2f}°), so it is extrapolated. Capture a tilt beyond it.",
                     low, high)});
  }
  if (solution.contact.inside == false) {
    const bool is_stated =
        solution.options.tilt_limit_deg || (solution.session.stylus && solution.session.stylus->tilt_limit_deg.has_value());
    solution.warnings.push_back(
        {WarningCode::kBeyondContactLimit,
         fmt::format(
             "an azimuth of {:+.2f}° turns the stylus more than {:.2f}° from upright, the limit for contact with both walls. The best "
             "azimuth inside the limit is {:+.2f}°. {} The stylus maker's limit takes precedence.",
             tilt, *solution.contact.limit_deg, *solution.contact.best_inside_deg,
             is_stated ? "You stated this limit." : "This limit is a rule of thumb by the radius of the stylus.")});
  }
  const auto& equal = solution.equal_crosstalk;
  if (equal.determined && outside_interval(equal, solution.least_crosstalk.tilt_deg)) {
    const std::string apart =
        fmt::format("equal and least crosstalk are {:.3f}° apart. ", std::abs(*equal.tilt_deg - solution.least_crosstalk.tilt_deg));
    const OptionalNumber rotation_deg = solution.not_correctable.rotation_quadrature_deg;
    solution.warnings.push_back(
        {WarningCode::kCriteriaDisagree,
         apart +
             (rotation_deg
                  ? fmt::format("The cause is 90° crosstalk (a quadrature rotation of {:+.3f}°), which azimuth cannot remove.",
                                *rotation_deg)
                  : std::string("The cause is 90° crosstalk (a quadrature rotation), which azimuth cannot remove. Recordings would show "
                                "its magnitude, because they have phases."))});
  }
}

}  // namespace evenwall::internal::solve
