// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/joint_fit.hpp"

#include <fmt/format.h>

#include <cmath>
#include <utility>

#include "evenwall/error.hpp"
#include "solve/criteria.hpp"
#include "solve/direction.hpp"
#include "solve/electronics.hpp"
#include "solve/fit_warnings.hpp"
#include "solve/magnitude_fit.hpp"
#include "solve/method_constants.hpp"
#include "solve/odd_sizes.hpp"
#include "solve/odd_steps.hpp"
#include "solve/prepared_fit.hpp"
#include "solve/recordings.hpp"
#include "solve/signal_scale.hpp"
#include "solve/slope_doubt.hpp"
#include "solve/turn_fit.hpp"

namespace evenwall::internal::solve {
namespace {

void fit_sizes(JointFit& joint) {  // also fills in the phases, for charts and lists
  auto& fitted = joint.observations.fitted;
  if (distinct_settings(fitted) < kLeastSettingsOfSizes) {
    throw Error(ErrorKind::kData,
                fmt::format("readings without phases need at least three different tilts, and this session has {}. Read the meter at more "
                            "tilts, or supply recordings or phases.",
                            distinct_settings(fitted)));
  }
  MagnitudeFit fit = fit_magnitudes(fitted, joint.gains, joint.gauge);
  joint.signal = std::move(fit.signal);
  joint.tilt = std::move(fit.tilt);
  for (std::size_t i = 0; i < fitted.size(); ++i) {
    const PredictedRatios model = predicted_ratios(joint.signal.psi_rad[static_cast<Eigen::Index>(i)], joint.signal.common);
    fitted[i].right_into_left = std::polar(std::abs(fitted[i].right_into_left), std::arg(model.right_into_left));
    fitted[i].left_into_right = std::polar(std::abs(fitted[i].left_into_right), std::arg(model.left_into_right));
  }
}

/// The steps with a logged tilt, which come first.
std::vector<Observation> logged_steps(const std::vector<Observation>& fitted) {
  return {fitted.begin(), fitted.begin() + static_cast<std::ptrdiff_t>(steps_with_tilt(fitted))};
}

/// The tilts of all recordings inform the response, and those that are logged inform the log.
TiltFit tilt_by_log(const JointFit& joint) {
  const auto& fitted = joint.observations.fitted;
  const std::size_t logged = steps_with_tilt(fitted);
  if (logged == fitted.size()) return fit_tilt(fitted, joint.signal, joint.gauge);
  return fit_tilt(logged_steps(fitted), with_tilts_of_first(logged, joint.signal), joint.gauge);
}

void fit_once(JointFit& joint) {
  if (joint.sizes_only) {
    fit_sizes(joint);
  } else {
    joint.signal = fit_signal(joint.observations.fitted, joint.gains);
    joint.tilt = joint.counts_from ? fit_turn(joint.signal, *joint.counts_from, joint.gauge) : tilt_by_log(joint);
  }
  const OffsetDoubt groove = groove_doubt(joint.observations.fitted);
  for (TiltAccount& account : joint.tilt.accounts) {
    if (joint.electronics) add_offset_doubt(electronics_doubt(*joint.electronics), account);
    add_offset_doubt(groove, account);
    add_offset_doubt(joint.third_octave, account);
    add_slope_doubt(joint.slope_u, account);
  }
}

/// 95 % half-width of least crosstalk, by the likeliest account.
double reach_of(const TiltFit& fit) {
  const TiltAccount& account = fit.likeliest();
  return coverage_factor95(account.degrees_of_freedom) * std::sqrt(std::max(0.0, account.covariance(0, 0)));
}

void fit(JointFit& joint) {
  fit_once(joint);
  if (joint.observations.leak_variance_factor <= 1) return;
  // Either the contradictory crosstalk scatters more than it states, or the gauge seems to scatter: the fit with the wider interval counts.
  JointFit wide = joint;
  widen(wide.observations);
  fit_once(wide);
  if (!(reach_of(wide.tilt) < reach_of(joint.tilt))) joint = std::move(wide);
}

/// Handles a response that runs against the log, and reports the reason as far as it can be determined.
void settle_wrong_slopes(JointFit& joint, const WiringEvidence& evidence) {
  if (evidence.channels_swapped && evidence.polarity_reversed) {
    joint.sense = Sense::kReversed;
    joint.gauge.scale_centre = -1;
    joint.warnings.push_back({WarningCode::kSwappedOrReversed,
                              "the log counts in the opposite direction: its positive tilts are anticlockwise, seen from the front. The "
                              "tilts in the result are positive clockwise. The result also gives the number for your gauge."});
    fit(joint);
    return;
  }
  joint.sense = Sense::kUndecided;
  // Crosstalk of the opposite sign gives the same criteria in the log's own sense.
  turn_polarity(joint);
  joint.polarity_turned = true;
  fit(joint);
  const std::string hint =
      evidence.antiphase_seen && !evidence.polarity_reversed
          ? "If the both-channel band is lateral, one channel's polarity is reversed. Otherwise the log counts in the opposite "
            "direction, or the channels are swapped. "
          : "The log counts in the opposite direction, the channels are swapped, or one channel's polarity is reversed. ";
  joint.warnings.push_back({evidence.antiphase_seen ? WarningCode::kPolarityReversed : WarningCode::kSwappedOrReversed,
                            "the crosstalk changes in the opposite direction to the logged tilts. " + hint +
                                "The result names no side for the shim, and its "
                                "tilts have the sign of the log. List the record's `bands` in session.json to determine the cause."});
}

void fit_by_response(JointFit& joint) {
  const auto& fitted = joint.observations.fitted;
  if (distinct_settings(fitted) < 2 && (steps_with_tilt(fitted) == fitted.size() || !azimuths_differ(joint.signal))) return;
  GainPriors open = joint.gains;
  open.u_ln_cut_ratio = kUninformedCut_neper;
  joint.by_response = joint.sizes_only ? magnitude_signal(joint.observations.fitted, open, joint.gauge)
                                       : fit_signal(joint.observations.fitted, open, &joint.signal);
  // With free cut levels, crosstalk that no tilt explains can make this fit diverge. The answer does not depend on this fit.
  if (!joint.by_response->psi_rad.allFinite() || !joint.by_response->common.allFinite()) joint.by_response.reset();
}

void require_numbers(const TiltFit& fit) {
  for (const TiltAccount& a : fit.accounts) {
    if (a.probability < kLeastProbability) continue;
    const bool sound = std::isfinite(a.probability) && std::isfinite(a.least_rad) && std::isfinite(a.scale) && a.common.allFinite() &&
                       a.covariance.allFinite() && a.signal_covariance.allFinite();
    if (!sound) throw_no_numbers();
  }
}

}  // namespace

TiltAccount account_of_signal(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& gauge,
                              const JointFit& near) {
  if (near.counts_from) return turn_account(signal, *near.counts_from, radians(gauge.u_record_deg));
  if (steps_with_tilt(observations) == observations.size()) return fit_as_stated(observations, signal, gauge);
  return fit_as_stated(logged_steps(observations), with_tilts_of_first(steps_with_tilt(observations), signal), gauge);
}

TiltAccount account_as_stated(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge,
                              const JointFit& near) {
  if (sizes_only(observations)) return magnitudes_as_stated(observations, gains, gauge, near.tilt.likeliest());
  const bool same_steps = observations.size() == near.observations.fitted.size();
  return account_of_signal(observations, fit_signal(observations, gains, same_steps ? &near.signal : nullptr), gauge, near);
}

std::vector<double> fitted_tilts_deg(const JointFit& joint) {
  const TiltAccount& account = joint.tilt.likeliest();
  std::vector<double> tilts_deg;
  for (std::size_t row = 0; row < joint.observations.fitted.size(); ++row) {
    const Observation& o = joint.observations.fitted[row];
    tilts_deg.push_back(o.tilt_logged ? account.scale * o.logged
                                      : degrees(account.tilt_rad(joint.signal.psi_rad[static_cast<Eigen::Index>(row)])));
  }
  return tilts_deg;
}

JointFit fit_jointly(const Session& session, const SolveOptions& options) {
  JointFit joint = prepared(session, options);
  fit(joint);
  if (joint.tilt.log_odds_against_log > kLogOddsSure) {
    settle_wrong_slopes(joint, joint.wiring);
    if (!joint.sizes_only) require_agreement(joint.observations.fitted, joint.gains);
  }
  require_numbers(joint.tilt);
  joint.gauge.lowering_rad = joint.tilt.lowering_rad;
  // What the signal shows about itself is not put down to the gauge.
  if (!judge_compression(session, joint)) judge_scale(joint);
  fit_by_response(joint);
  judge_cut_levels(joint);
  if (joint.counts_from) {
    settle_direction(session, joint);
    judge_turn(session, joint);
  } else {
    joint.sizes_only ? judge_sizes(joint) : judge_gauge(session, joint);
  }
  if (!joint.sizes_only) find_wiring_outside(session, joint);
  return joint;
}

}  // namespace evenwall::internal::solve
