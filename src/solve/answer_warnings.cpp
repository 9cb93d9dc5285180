// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/answer_warnings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "solve/method_constants.hpp"
#include "solve/verdict.hpp"

namespace evenwall::internal::solve {
namespace {

/// Whether the choice between equal and least crosstalk matters: their tilts differ by more than the tolerance and by more than chance, and
/// the totals by more than can be neglected. Otherwise it is a row of the trade-off.
bool choice_matters(const Solution& solution, double tolerance_deg) {
  const Criterion& equal = solution.equal_crosstalk;
  if (!equal.determined) return false;
  const double half_deg = 0.5 * ((*equal.interval95_deg)[1] - (*equal.interval95_deg)[0]);
  if (std::abs(*equal.tilt_deg - solution.least_crosstalk.tilt_deg) <= std::max(tolerance_deg, half_deg)) return false;
  return *equal.crosstalk_db - solution.not_correctable.least_rms_crosstalk_db > kChoiceMatters_db;
}

/// What the user asked for, and the recordings do not give.
void warn_of_wishes(Solution& solution, const JointFit& joint, const std::string& aim_not_met) {
  if (!aim_not_met.empty()) {
    solution.warnings.push_back({WarningCode::kAimNotMet, aim_not_met + ". The recommended azimuth follows the rule instead."});
  }
  if (const auto& band = solution.options.band; band && !solution.band) {
    solution.warnings.push_back({WarningCode::kAimNotMet,
                                 fmt::format("--band {:g}-{:g} holds less than an octave of frequencies that were measured with phases. No "
                                             "optimum over a band is stated. Choose a wider band, or record sweeps, noise or more tones.",
                                             band->from_hz, band->to_hz)});
  }
  if (solution.session.settings && !solution.nearest_setting) {
    solution.warnings.push_back(
        {WarningCode::kNoReachableSetting,
         joint.counts_from || joint.single_unit_step
             ? "the `settings` of the session are not used, because no logged tilts connect the azimuth to a number on the gauge. Log them."
             : "none of the `settings` of the session can be used, because none lies within the limit for the tilt. Correct them, or the "
               "limit."});
  }
}

}  // namespace

void warn_of_answer(Solution& solution, const JointFit& joint, const std::string& aim_not_met) {
  warn_of_wishes(solution, joint, aim_not_met);
  const std::vector<double> tilts_deg = fitted_tilts_deg(joint);
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
  if (choice_matters(solution, tolerance_deg_of(solution))) {
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
