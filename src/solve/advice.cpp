// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/advice.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>
#include <vector>

#include "numeric/distributions.hpp"
#include "solve/criteria.hpp"
#include "solve/method_constants.hpp"
#include "solve/uncertainty.hpp"

namespace evenwall::internal::solve {
namespace {

OptionalNumber limit_of(const SessionFacts& facts, const SolveOptions& options) {
  if (options.tilt_limit_deg) return options.tilt_limit_deg;
  if (!facts.stylus) return std::nullopt;
  if (facts.stylus->tilt_limit_deg) return facts.stylus->tilt_limit_deg;
  if (!facts.stylus->major_radius_um) return std::nullopt;
  return *facts.stylus->major_radius_um >= kLargeRadius_um ? kLargeRadiusLimit_deg : kSmallRadiusLimit_deg;
}

/// The observation that the fit expects at a logged setting, with the uncertainties of the middle one of the fitted observations.
Observation expected_observation(double logged, const JointFit& joint) {
  const TiltAccount& account = joint.tilt.likeliest();
  const auto& fitted = joint.observations.fitted;
  Observation o = fitted[fitted.size() / 2];
  o.logged = logged;
  o.order = 1 + std::max_element(fitted.begin(), fitted.end(), [](const auto& a, const auto& b) { return a.order < b.order; })->order;
  o.approach = 0;
  o.tilt_logged = !joint.counts_from;
  o.gauge_u.reset();
  o.ln_level_ratio.reset();
  o.interchannel_phase_rad.reset();
  const double size_before = std::abs(o.right_into_left);
  const PredictedRatios ratios = predicted_ratios(account.psi_rad(radians(account.scale * logged)), account.common);
  o.right_into_left = ratios.right_into_left;
  o.left_into_right = ratios.left_into_right;
  if (!o.phase_known) {
    // A meter's uncertainty is given in decibels, so it is in proportion to the reading.
    const double u_ln = std::sqrt(0.5 * o.right_into_left_covariance.trace()) / size_before;
    o.right_into_left_covariance = Eigen::Matrix2d::Identity() * std::norm(u_ln * o.right_into_left);
    o.left_into_right_covariance = Eigen::Matrix2d::Identity() * std::norm(u_ln * o.left_into_right);
  }
  return o;
}

double variance_with(const std::vector<Observation>& observations, CriterionKind kind, double tilt_deg, const JointFit& joint) {
  GaugePriors gauge = joint.gauge;
  gauge.u_deg = degrees(joint.tilt.likeliest().gauge_u_rad);
  return linear_variance_deg2(kind, tilt_deg, account_as_stated(observations, joint.gains, gauge, joint));
}

/// Logged settings to try for one more capture, the one nearest to the answer first.
std::vector<double> candidates(double from, double to, double at_answer) {
  std::vector<double> logged;
  for (int i = 0; i < kAdviceCandidates; ++i) logged.push_back(from + (to - from) * i / (kAdviceCandidates - 1));
  std::stable_sort(logged.begin(), logged.end(), [&](double a, double b) { return std::abs(a - at_answer) < std::abs(b - at_answer); });
  return logged;
}

/// The fitted observations with one more. Those with a logged tilt come first.
std::vector<Observation> with_one_more(Observation one, const JointFit& joint) {
  std::vector<Observation> more = joint.observations.fitted;
  const auto at = joint.counts_from ? more.size() : steps_with_tilt(more);
  more.insert(more.begin() + static_cast<std::ptrdiff_t>(at), std::move(one));
  return more;
}

/// The lowest and the highest setting, in the unit of the log; by the signal, in degrees, if no step has a logged tilt.
std::pair<double, double> range_of_settings(const JointFit& joint) {
  const auto& fitted = joint.observations.fitted;
  if (!joint.counts_from) return std::minmax({fitted.front().logged, fitted[steps_with_tilt(fitted) - 1].logged});
  const std::vector<double> tilts_deg = fitted_tilts_deg(joint);
  const auto [lowest, highest] = std::minmax_element(tilts_deg.begin(), tilts_deg.end());
  return {*lowest, *highest};
}

/// Degrees of freedom of the answer with one more setting. One setting adds one to those of the scatter; stated terms keep their share.
double degrees_of_freedom_after(const CriterionTilt& tilt, const JointFit& joint) {
  if (!(tilt.degrees_of_freedom > 0)) return 0;
  const double of_scatter = joint.tilt.likeliest().degrees_of_freedom;
  return of_scatter > 0 ? tilt.degrees_of_freedom * (of_scatter + 1) / of_scatter : tilt.degrees_of_freedom + 1;
}

}  // namespace

Contact contact_of(double tilt_deg, const SessionFacts& facts, const SolveOptions& options) {
  Contact contact;
  contact.limit_deg = limit_of(facts, options);
  if (!contact.limit_deg) return contact;
  const double upright_deg = facts.stylus && facts.stylus->upright_at_deg ? *facts.stylus->upright_at_deg : 0.0;
  contact.inside = std::abs(tilt_deg - upright_deg) <= *contact.limit_deg;
  contact.best_inside_deg = std::clamp(tilt_deg, upright_deg - *contact.limit_deg, upright_deg + *contact.limit_deg);
  return contact;
}

double start_deg_of(const JointFit& joint) {
  if (joint.gauge.in_degrees) return 0;
  const auto& fitted = joint.observations.fitted;
  return joint.tilt.likeliest().scale * std::clamp(0.0, fitted.front().logged, fitted[steps_with_tilt(fitted) - 1].logged);
}

Shim shim_of(double tilt_deg, double start_deg, Sense sense, const SessionFacts& facts, const SolveOptions& options) {
  Shim shim;
  shim.from_tilt_deg = options.from_tilt_deg.value_or(start_deg);
  shim.move_deg = tilt_deg - shim.from_tilt_deg;
  const double span_mm = facts.shim_span_mm.value_or(facts.hole_spacing_mm.value_or(kHoleSpacing_mm));
  shim.height_mm = span_mm * std::tan(radians(std::abs(shim.move_deg)));
  if (sense == Sense::kUndecided || shim.move_deg == 0) return shim;
  // A clockwise move, seen from the front, raises the cartridge's spindle side, which is on the viewer's left.
  const bool clockwise = shim.move_deg > 0;
  shim.raises = clockwise ? Side::kSpindleSide : Side::kOuterSide;
  shim.place_shim_at = clockwise ? Side::kOuterSide : Side::kSpindleSide;
  return shim;
}

std::optional<NextStep> next_step_of(CriterionKind kind, const CriterionTilt& tilt, double lasting_deg, const JointFit& joint,
                                     Advise when) {
  const auto& fitted = joint.observations.fitted;
  const double half_now_deg = coverage_factor95(tilt.degrees_of_freedom) * tilt.u_deg;
  const bool many = fitted.size() > kAdviceMostSteps;
  const bool worthwhile = half_now_deg >= numeric::kNormal95 * kGoodEnough_deg && !many && !joint.single_unit_step;
  if (when == Advise::kIfWorthwhile && !worthwhile) return std::nullopt;
  const double scale = joint.tilt.likeliest().scale;
  if (std::abs(scale) < kLeastDegreesPerUnit) return std::nullopt;
  const double now = variance_with(fitted, kind, tilt.tilt_deg, joint);
  const auto [lowest, highest] = range_of_settings(joint);
  const double reach = kAdviceReach_deg / std::abs(scale);
  // If the answer lies outside the captured tilts, a capture at the answer itself is best: the answer is then no longer extrapolated.
  const double at_answer = tilt.tilt_deg / scale;
  const double margin = kBeyond_deg / std::abs(scale);
  const bool outside = at_answer < lowest - margin || at_answer > highest + margin;
  double best_logged = at_answer;
  double best = std::numeric_limits<double>::infinity();
  for (const double logged : outside || many ? std::vector{at_answer} : candidates(lowest - reach, highest + reach, at_answer)) {
    const double variance = variance_with(with_one_more(expected_observation(logged, joint), joint), kind, tilt.tilt_deg, joint);
    // A candidate further from the answer must lower the variance by 0.1 %: otherwise it is not better advice.
    if (variance < 0.999 * best) {
      best = variance;
      best_logged = logged;
    }
  }
  const double lasting_deg2 = std::min(lasting_deg, tilt.u_deg) * std::min(lasting_deg, tilt.u_deg);
  const double u_after_deg = std::sqrt(lasting_deg2 + best / now * (tilt.u_deg * tilt.u_deg - lasting_deg2));
  const double half_after_deg = coverage_factor95(degrees_of_freedom_after(tilt, joint)) * u_after_deg;
  if (when == Advise::kIfWorthwhile && !(half_after_deg < kWorthwhile * half_now_deg) && !outside) return std::nullopt;
  const double next_deg = scale * best_logged + 0.0;  // no negative zero
  const bool on_ruler = !joint.counts_from && !joint.observations.in_degrees;
  const std::string where = on_ruler
                                ? fmt::format("{:+.3g} on the ruler of the log ({:+.2f}°)", best_logged + 0.0, next_deg)
                                : fmt::format("{:+.2f}°{}", next_deg, joint.counts_from ? " from the position in the last recording" : "");
  return NextStep{
      next_deg,
      fmt::format("one more recording at {} would bring the standard uncertainty of the azimuth from {:.4f}° to about {:.4f}°, and half of "
                  "the 95 % interval from {:.4f}° to about {:.4f}°",
                  where, tilt.u_deg, u_after_deg, half_now_deg, half_after_deg),
      u_after_deg};
}

}  // namespace evenwall::internal::solve
