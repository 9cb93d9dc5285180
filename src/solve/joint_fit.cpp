#include "solve/joint_fit.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "solve/electronics.hpp"

namespace evenwall {
namespace {

constexpr double kDefaultCutLevel_u_db = 0.3;  // how alike two bands of one record are cut (a judgement)
constexpr double kDefaultScale_u = 0.02;       // of a gauge's degree (a judgement)
constexpr double kLogOddsSure = 6.0;           // 400 to 1 against the log's own sense before it is doubted
constexpr double kScaleOff = 3.0;              // combined uncertainties
constexpr double kCutMismatchOff = 3.0;
constexpr double kUninformedCut_neper = 5.0;  // levels with this uncertainty say nothing

GainPriors gain_priors(const SessionFacts& facts) {
  return {facts.cut_level_difference_db.value_or(0) / kDbPerNeper, facts.cut_level_u_db.value_or(kDefaultCutLevel_u_db) / kDbPerNeper, 0};
}

GaugePriors gauge_priors(const SessionFacts& facts, const SolveOptions& options, bool in_degrees) {
  GaugePriors priors;
  priors.in_degrees = in_degrees;
  priors.u_deg = options.gauge_u_deg ? options.gauge_u_deg : facts.gauge_u_deg;
  priors.u_scale = facts.gauge_scale_u.value_or(kDefaultScale_u);
  priors.u_zero_deg = options.gauge_zero_u_deg.value_or(facts.gauge_zero_u_deg.value_or(0));
  priors.u_record_deg = options.record_u_deg.value_or(facts.record_u_deg.value_or(0));
  return priors;
}

void fit(JointFit& joint) {
  joint.signal = fit_signal(joint.observations.fitted, joint.gains);
  joint.tilt = fit_tilt(joint.observations.fitted, joint.signal, joint.gauge);
  for (TiltAccount& account : joint.tilt.accounts) {
    if (joint.electronics) add_offset_doubt(electronics_doubt(*joint.electronics), account);
    add_offset_doubt(groove_doubt(joint.observations.fitted), account);
  }
}

/// Puts right what the wiring is known to have done, and says so.
void undo_wiring(JointFit& joint, const WiringEvidence& evidence) {
  if (evidence.channels_swapped.value_or(false)) {
    swap_channels(joint.observations.fitted);
    joint.warnings.push_back({"swapped_or_reversed",
                              "left-only and right-only passages come in the opposite order of `bands`: the channels are swapped; they are "
                              "taken in their places here. Switch off, then put the leads right"});
  }
  if (evidence.polarity_reversed.value_or(false)) {
    joint.gains.phase_centre_rad = std::numbers::pi;
    for (Observation& o : joint.observations.fitted) {
      if (o.interchannel_phase_rad) *o.interchannel_phase_rad += std::numbers::pi;
      o.vertical = !o.vertical;
    }
    joint.warnings.push_back({"polarity_reversed",
                              "one channel's polarity is reversed: the both-channel band plays against `bands`; it is "
                              "taken the right way round here. Switch off, then turn the leads of one channel"});
  }
}

void turn_polarity(JointFit& joint) {
  joint.gains.phase_centre_rad += joint.gains.phase_centre_rad > 1 ? -std::numbers::pi : std::numbers::pi;
  for (Observation& o : joint.observations.fitted) {
    if (o.interchannel_phase_rad) *o.interchannel_phase_rad += std::numbers::pi;
  }
}

/// The response runs against the log: says why, as far as it can be known.
void settle_wrong_slopes(JointFit& joint, const WiringEvidence& evidence) {
  if (evidence.channels_swapped && evidence.polarity_reversed) {
    joint.sense = Sense::kReversed;
    joint.gauge.scale_centre = -1;
    joint.warnings.push_back({"swapped_or_reversed",
                              "the log counts the other way: its positive tilts are anticlockwise seen from the front; "
                              "tilts here are clockwise, numbers for your gauge are given beside them"});
    fit(joint);
    return;
  }
  joint.sense = Sense::kUndecided;
  // Leaks of turned sign give the same criteria with the log's own sense.
  turn_polarity(joint);
  joint.polarity_turned = true;
  fit(joint);
  const std::string hint =
      evidence.antiphase_seen && !evidence.polarity_reversed
          ? "if the both-channel band is lateral, one channel's polarity is reversed; else the log counts the other way or "
            "the channels are swapped"
          : "the log counts the other way, the channels are swapped, or one channel's polarity is reversed";
  joint.warnings.push_back(
      {evidence.antiphase_seen ? "polarity_reversed" : "swapped_or_reversed",
       hint + "; no side is named: tilts are in the log's own sense. List the record's `bands` in session.json to settle it"});
}

void judge_scale(JointFit& joint) {
  if (!joint.gauge.in_degrees || joint.tilt.u_free_scale <= 0) return;
  const double off = std::abs(std::abs(joint.tilt.free_scale) - 1);
  if (off > kScaleOff * std::hypot(joint.tilt.u_free_scale, joint.gauge.u_scale)) {
    joint.warnings.push_back(
        {"scale_off", fmt::format("one logged degree turns the signal by {:.3f}° (u {:.3f}°); check the gauge, or log the "
                                  "settings as tilt_units. An arm tube with an offset angle that is rolled gives cos(offset)",
                                  joint.tilt.free_scale, joint.tilt.u_free_scale)});
  }
}

std::size_t distinct_settings(const std::vector<Observation>& fitted) {
  std::size_t n = 1;  // in the order of the log's tilts
  for (std::size_t i = 1; i < fitted.size(); ++i) n += fitted[i].logged != fitted[i - 1].logged ? 1 : 0;
  return n;
}

void fit_by_response(JointFit& joint) {
  if (distinct_settings(joint.observations.fitted) < 2) return;
  GainPriors open = joint.gains;
  open.u_ln_cut_ratio = kUninformedCut_neper;
  joint.by_response = fit_signal(joint.observations.fitted, open);
}

void judge_cut_levels(JointFit& joint) {
  if (!joint.by_response) return;
  const SignalFit& free = *joint.by_response;
  const Eigen::Index row = free.psi_rad.size() + kLnCutRatio;
  const double off = free.common[kLnCutRatio] - joint.gains.ln_cut_ratio;
  const double u = std::hypot(std::sqrt(free.covariance(row, row)), 0.5 * joint.gains.u_ln_cut_ratio);
  if (std::abs(off) > kCutMismatchOff * u) {
    joint.warnings.push_back(
        {"level_mismatch", fmt::format("by the tilt response the left-only band is cut {:+.2f} dB against the right-only "
                                       "band (u {:.2f} dB); balance is taken from the tilt response",
                                       off * kDbPerNeper, std::sqrt(free.covariance(row, row)) * kDbPerNeper)});
  }
}

void judge_gauge(JointFit& joint) {
  const std::size_t settings = distinct_settings(joint.observations.fitted);
  const char* what = settings == 1 ? "one tilt" : "two tilts";
  if (joint.tilt.gauge == GaugeKnowledge::kAssumed && !joint.single_unit_step) {
    joint.warnings.push_back(
        {"gauge_assumed", fmt::format("{} can't show how well the gauge is set; 0.1° is taken for it. State gauge_u_deg, or "
                                      "capture four tilts or more",
                                      what)});
  }
  if (joint.tilt.gauge == GaugeKnowledge::kUnderstated) {
    joint.warnings.push_back(
        {"gauge_understated", fmt::format("the steps scatter more than the stated gauge uncertainty allows (p = {:.1e}); their "
                                          "own scatter is taken instead",
                                          joint.tilt.stated_p_value)});
  }
  if (settings >= 3) return;
  joint.warnings.push_back(
      {"few_steps", settings == 1 ? "one tilt only: the answer's side rests on wiring, channel order and the sign of the log, and "
                                    "no step can be checked against another. Capture two more tilts"
                                  : "two tilts only: no step can be checked against another. Capture one more tilt"});
  if (joint.single_unit_step) {
    joint.warnings.push_back({"few_steps",
                              "one setting in user units has no degrees: tilts here are counted from where the cartridge stood in that "
                              "capture"});
  }
}

}  // namespace

JointFit fit_jointly(const Session& session, const SolveOptions& options) {
  JointFit joint;
  joint.observations = observations_of(session, options);
  joint.warnings = joint.observations.warnings;
  joint.gains = gain_priors(session.facts);
  joint.gauge = gauge_priors(session.facts, options, joint.observations.in_degrees);
  auto& fitted = joint.observations.fitted;
  if (!joint.observations.in_degrees && fitted.front().logged == fitted.back().logged) {
    joint.single_unit_step = true;
    joint.gauge.in_degrees = true;
    joint.gauge.u_deg = 0;  // a move from a capture has no setting in it
    for (Observation& o : fitted) o.logged = 0;
  }
  if (options.calibration) {
    joint.electronics = calibration_at(*options.calibration, joint.observations.frequency_hz);
    take_out_electronics(*joint.electronics, fitted);
  }
  const WiringEvidence evidence = wiring_evidence(session, joint.observations);
  undo_wiring(joint, evidence);
  fit(joint);
  if (joint.tilt.log_odds_against_log > kLogOddsSure) settle_wrong_slopes(joint, evidence);
  judge_scale(joint);
  fit_by_response(joint);
  judge_cut_levels(joint);
  judge_gauge(joint);
  return joint;
}

}  // namespace evenwall
