// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/joint_fit.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>
#include <utility>

#include "evenwall/error.hpp"
#include "solve/criteria.hpp"
#include "solve/electronics.hpp"
#include "solve/magnitude_fit.hpp"
#include "solve/method_constants.hpp"
#include "solve/odd_sizes.hpp"
#include "solve/odd_steps.hpp"
#include "solve/recordings.hpp"
#include "solve/slope_doubt.hpp"

namespace evenwall::internal::solve {
namespace {

GainPriors gain_priors(const SessionFacts& facts) {
  return {facts.cut_level_difference_db.value_or(0) / kDbPerNeper, facts.cut_level_u_db.value_or(kDefaultCutLevel_u_db) / kDbPerNeper, 0};
}

GaugePriors gauge_priors(const SessionFacts& facts, const SolveOptions& options, bool in_degrees) {
  GaugePriors priors;
  priors.in_degrees = in_degrees;
  priors.u_deg = options.gauge_u_deg ? options.gauge_u_deg : facts.gauge_u_deg;
  priors.u_scale = facts.gauge_scale_u.value_or(kDefaultScale_u);
  priors.scale_stated = facts.gauge_scale_u.has_value();
  priors.u_zero_deg = options.gauge_zero_u_deg.value_or(facts.gauge_zero_u_deg.value_or(0));
  priors.u_record_deg =
      options.record_correction ? options.record_correction->u_deg : options.record_u_deg.value_or(facts.record_u_deg.value_or(0));
  return priors;
}

std::size_t distinct_settings(const std::vector<Observation>& fitted) {
  std::size_t n = 1;  // observations are sorted by logged tilt
  for (std::size_t i = 1; i < fitted.size(); ++i) n += fitted[i].logged != fitted[i - 1].logged ? 1 : 0;
  return n;
}

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

void fit_once(JointFit& joint) {
  if (joint.sizes_only) {
    fit_sizes(joint);
  } else {
    joint.signal = fit_signal(joint.observations.fitted, joint.gains);
    joint.tilt = fit_tilt(joint.observations.fitted, joint.signal, joint.gauge);
  }
  const OffsetDoubt groove = groove_doubt(joint.observations.fitted);
  for (TiltAccount& account : joint.tilt.accounts) {
    if (joint.electronics) add_offset_doubt(electronics_doubt(*joint.electronics), account);
    add_offset_doubt(groove, account);
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
  const double factor = std::exchange(wide.observations.leak_variance_factor, 1.0);
  for (Observation& o : wide.observations.fitted) o.right_into_left_covariance *= factor, o.left_into_right_covariance *= factor;
  fit_once(wide);
  if (!(reach_of(wide.tilt) < reach_of(joint.tilt))) joint = std::move(wide);
}

/// Corrects the known effects of the wiring, and reports them.
void undo_wiring(JointFit& joint, const WiringEvidence& evidence) {
  if (evidence.channels_swapped.value_or(false)) {
    joint.warnings.push_back({WarningCode::kSwappedOrReversed,
                              "the left-only and right-only passages come in the opposite order to `bands`, so the channels are swapped. "
                              "The program has corrected this. Check `bands`. If it is right, switch off and correct the leads."});
  }
  if (evidence.polarity_reversed.value_or(false)) {
    joint.gains.phase_centre_rad = std::numbers::pi;
    for (Observation& o : joint.observations.fitted) {
      if (o.interchannel_phase_rad) *o.interchannel_phase_rad += std::numbers::pi;
      o.vertical = !o.vertical;
    }
    joint.warnings.push_back({WarningCode::kPolarityReversed,
                              "the both-channel band has the opposite phase relation to `bands`, so one channel's polarity is reversed. "
                              "The program has corrected this. Switch off, then reverse the leads of one channel."});
  }
}

void turn_polarity(JointFit& joint) {
  joint.gains.phase_centre_rad += joint.gains.phase_centre_rad > 1 ? -std::numbers::pi : std::numbers::pi;
  for (Observation& o : joint.observations.fitted) {
    if (o.interchannel_phase_rad) *o.interchannel_phase_rad += std::numbers::pi;
  }
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

void judge_scale(JointFit& joint) {
  if (joint.sizes_only || !joint.gauge.in_degrees || joint.tilt.u_free_scale <= 0) return;
  const auto [scale, u] = joint.tilt.scale_by_signal();
  if (std::abs(std::abs(scale) - 1) > kScaleOff * std::hypot(u, joint.gauge.u_scale)) {
    joint.warnings.push_back(
        {WarningCode::kScaleOff,
         fmt::format("according to the signal, one logged degree turns the cartridge by {:.3f}° (u {:.3f}°). Check the gauge, or log "
                     "the settings as tilt_units. If you roll an arm tube with an offset angle, this factor is the cosine of that angle.",
                     scale, u)});
  }
}

void fit_by_response(JointFit& joint) {
  if (distinct_settings(joint.observations.fitted) < 2) return;
  GainPriors open = joint.gains;
  open.u_ln_cut_ratio = kUninformedCut_neper;
  joint.by_response = joint.sizes_only ? magnitude_signal(joint.observations.fitted, open, joint.gauge)
                                       : fit_signal(joint.observations.fitted, open, &joint.signal);
  // With free cut levels, crosstalk that no tilt explains can make this fit diverge. The answer does not depend on this fit.
  if (!joint.by_response->psi_rad.allFinite() || !joint.by_response->common.allFinite()) joint.by_response.reset();
}

void judge_cut_levels(JointFit& joint) {
  if (!joint.by_response) return;
  const SignalFit& free = *joint.by_response;
  const Eigen::Index row = free.psi_rad.size() + kLnCutRatio;
  const double off = free.common[kLnCutRatio] - joint.gains.ln_cut_ratio;
  const double u = std::hypot(std::sqrt(free.covariance(row, row)), 0.5 * joint.gains.u_ln_cut_ratio);
  if (std::abs(off) > kCutMismatchOff * u) {
    joint.warnings.push_back(
        {WarningCode::kLevelMismatch,
         fmt::format(
             "according to the tilt response, the left-only band is cut {:+.2f} dB (u {:.2f} dB) relative to the expected level. This "
             "is cut_level_difference_db relative to the right-only band, or 0 dB if none is stated. The result gives the channel "
             "balance by levels and by the tilt response. State cut_level_difference_db if you know it.",
             off * kDbPerNeper, std::sqrt(free.covariance(row, row)) * kDbPerNeper)});
  }
}

/// Reports the quantities that magnitudes alone do not determine, and any contradiction between the readings.
void judge_sizes(JointFit& joint) {
  joint.warnings.push_back(
      {WarningCode::kSizesOnly,
       "the readings have no phases. Equal and least crosstalk are computed from magnitudes only. Phase match and the quadrature rotation "
       "remain unknown, and the direction of the move depends on the sign of the log. Supply recordings to determine them."});
  if (!joint.gauge.u_deg) {
    joint.warnings.push_back({WarningCode::kGaugeAssumed,
                              "magnitudes alone cannot separate the scatter of the gauge from the scatter of the meter. The standard "
                              "uncertainty of the gauge is taken as 0.1°. State gauge_u_deg."});
  }
  if (joint.tilt.stated_p_value < kSizesMisfit) {
    joint.warnings.push_back({WarningCode::kStepsContradict,
                              fmt::format("the readings differ from one response by more than their stated uncertainty allows "
                                          "(p = {:.1e}). The interval is widened accordingly. State u_db, or repeat the readings.",
                                          joint.tilt.stated_p_value)});
  }
}

void judge_gauge(JointFit& joint) {
  const std::size_t settings = distinct_settings(joint.observations.fitted);
  const char* what = settings == 1 ? "one tilt" : "two tilts";
  if (joint.tilt.gauge == GaugeKnowledge::kAssumed && !joint.single_unit_step) {
    joint.warnings.push_back({WarningCode::kGaugeAssumed,
                              fmt::format("{} cannot show how accurately the gauge is set. The standard uncertainty of the gauge is taken "
                                          "as 0.1°. State gauge_u_deg, or capture four tilts or more.",
                                          what)});
  }
  if (joint.tilt.gauge == GaugeKnowledge::kUnderstated) {
    joint.warnings.push_back({WarningCode::kGaugeUnderstated,
                              fmt::format("the steps scatter more than the stated gauge uncertainty allows (p = {:.1e}). The fit uses "
                                          "their own scatter instead. State a larger gauge_u_deg.",
                                          joint.tilt.stated_p_value)});
  }
  if (settings >= 3) return;
  joint.warnings.push_back(
      {WarningCode::kFewSteps, settings == 1 ? "there is only one tilt. The direction of the move depends on the wiring, the channel order "
                                               "and the sign of the log. No step can be checked against another. Capture two more tilts."
                                             : "there are only two tilts. No step can be checked against another. Capture one more tilt."});
  if (joint.single_unit_step) {
    joint.warnings.push_back({WarningCode::kFewSteps,
                              "a single setting in tilt_units cannot be converted to degrees. All tilts are counted from the position of "
                              "the cartridge in that recording. Capture another setting to determine the scale."});
  }
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

void put_in_places(Observation& observation, const std::optional<CalibrationPoint>& electronics, const WiringEvidence& evidence) {
  if (electronics) take_out_electronics(*electronics, observation);
  if (observation.leads_swapped) swap_channels(observation);
  if (evidence.channels_swapped.value_or(false)) swap_channels(observation);
}

TiltAccount account_as_stated(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge,
                              const JointFit& near) {
  if (sizes_only(observations)) return magnitudes_as_stated(observations, gains, gauge, near.tilt.likeliest());
  const bool same_steps = observations.size() == near.observations.fitted.size();
  return fit_as_stated(observations, fit_signal(observations, gains, same_steps ? &near.signal : nullptr), gauge);
}

JointFit fit_jointly(const Session& session, const SolveOptions& options) {
  JointFit joint;
  joint.observations = observations_of(session, options);
  joint.gains = gain_priors(session.facts);
  joint.gauge = gauge_priors(session.facts, options, joint.observations.in_degrees);
  joint.slope_u = session.facts.slope_u.value_or(0);
  auto& fitted = joint.observations.fitted;
  if (!joint.observations.in_degrees && fitted.front().logged == fitted.back().logged) {
    joint.single_unit_step = true;
    joint.gauge.in_degrees = true;
    joint.gauge.u_deg = 0;  // a move from a capture does not contain the error of a setting
    for (Observation& o : fitted) {
      o.logged = 0;
      o.gauge_u.reset();
    }
  }
  if (options.calibration) {
    joint.electronics = calibration_at(*options.calibration, joint.observations.frequency_hz);
  } else if (session.facts.electronics_crosstalk_db) {
    joint.electronics = unmeasured_electronics(*session.facts.electronics_crosstalk_db, joint.observations.frequency_hz);
  }
  joint.sizes_only = sizes_only(fitted);
  const WiringEvidence& evidence = joint.wiring = wiring_evidence(session, joint.observations);
  for (Observation& o : fitted) put_in_places(o, joint.electronics, evidence);
  undo_wiring(joint, evidence);
  joint.sizes_only ? settle_sizes(session, joint.gains, joint.gauge, joint.observations) : settle_recordings(session, joint);
  joint.warnings.insert(joint.warnings.begin(), joint.observations.warnings.begin(), joint.observations.warnings.end());
  fit(joint);
  if (joint.tilt.log_odds_against_log > kLogOddsSure) {
    settle_wrong_slopes(joint, evidence);
    if (!joint.sizes_only) require_agreement(fitted, joint.gains);
  }
  require_numbers(joint.tilt);
  joint.gauge.lowering_rad = joint.tilt.lowering_rad;
  judge_scale(joint);
  fit_by_response(joint);
  judge_cut_levels(joint);
  joint.sizes_only ? judge_sizes(joint) : judge_gauge(joint);
  if (!joint.sizes_only) find_wiring_outside(session, joint);
  return joint;
}

}  // namespace evenwall::internal::solve
