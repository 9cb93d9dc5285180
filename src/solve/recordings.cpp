// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/recordings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include "base/recording_name.hpp"
#include "solve/method_constants.hpp"
#include "solve/odd_steps.hpp"
#include "solve/prepared_fit.hpp"
#include "solve/recording_gains.hpp"
#include "solve/step_wiring.hpp"

namespace evenwall::internal::solve {
namespace {

void correct_wiring(const Session& session, JointFit& joint) {
  auto& fitted = joint.observations.fitted;
  for (const StepWiring& wiring : step_wiring(fitted, joint.gains)) {
    rewire(wiring, fitted[wiring.row]);
    report_wiring(wiring, session, fitted[wiring.row].step, joint);
  }
}

/// Chi-square of a recording's crosstalk and level against the fitted response, at the tilt that its crosstalk shows.
double misfit_outside(const Observation& o, const JointFit& joint) {
  const Eigen::VectorXd& common = joint.tilt.likeliest().common;
  const Complex ln_gain = ln_gain_of(common, o.leads_swapped) + own_gain_outside(o, joint);
  const Complex gain = std::exp(ln_gain);
  const double psi = std::atan(0.5 * (o.right_into_left / gain - o.left_into_right * gain).real());
  const PredictedRatios straight = predicted_ratios(psi, common);
  const Complex by = gain / std::exp(ln_gain_of(common, false));
  const auto off = [](Complex seen, Complex model, const Eigen::Matrix2d& covariance) {
    const double u2 = 0.5 * covariance.trace() + std::norm(kOutsideModel_u * std::abs(seen));
    return std::norm(seen - model) / u2;
  };
  double chi2 = off(o.right_into_left, by * straight.right_into_left, o.right_into_left_covariance) +
                off(o.left_into_right, straight.left_into_right / by, o.left_into_right_covariance);
  if (o.ln_level_ratio && joint.gains.spread.neper == 0) {
    chi2 += std::pow((*o.ln_level_ratio - ln_gain.real() - common[kLnCutRatio]) / kOutsideLevel_u, 2);
  }
  return chi2;
}

double span(const Eigen::ArrayXd& values) { return values.maxCoeff() - values.minCoeff(); }

}  // namespace

void report_wiring(const StepWiring& wiring, const Session& session, std::size_t step, JointFit& joint) {
  const std::string name = base::recording_name(session.steps[step].log);
  if (wiring.swapped) {
    joint.swapped_steps.push_back(step);
    joint.warnings.push_back({WarningCode::kSwappedOrReversed,
                              fmt::format("step {}: left and right are swapped in this recording, but not in the others. The program has "
                                          "corrected this. Switch off, then check the leads.",
                                          name)});
  }
  if (wiring.reversed) {
    joint.reversed_steps.push_back(step);
    joint.warnings.push_back(
        {WarningCode::kPolarityReversed,
         fmt::format("step {}: one channel's polarity is reversed in this recording, but not in the others. The program has "
                     "corrected this. Switch off, then check the leads.",
                     name)});
  }
}

void settle_recordings(const Session& session, JointFit& joint) {
  auto& fitted = joint.observations.fitted;
  correct_wiring(session, joint);
  joint.gains.spread = recording_spread(fitted, joint.gains).spread;
  const std::size_t before = fitted.size();
  if (settle_leaks(session, joint.gains, joint.observations).gains_alike) joint.gains.spread = {};
  // An excluded recording may be the reason why the gains seemed to differ.
  if (fitted.size() != before) joint.gains.spread = recording_spread(fitted, joint.gains).spread;
}

void warn_of_own_gains(const JointFit& joint, Warnings& warnings) {
  if (joint.signal.own_ln_gain.size() == 0) return;
  const double db = span(joint.signal.own_ln_gain.real().array()) * kDbPerNeper;
  const double phase_deg = degrees(span(joint.signal.own_ln_gain.imag().array()));
  std::vector<std::string> found;
  if (db > kOwnGainWorthReporting_db) found.push_back(fmt::format("the channel balance differs by up to {:.2f} dB", db));
  if (phase_deg > kOwnPhaseWorthReporting_deg)
    found.push_back(fmt::format("the phase between the channels differs by up to {:.1f}°", phase_deg));
  if (found.empty()) return;
  warnings.push_back(
      {WarningCode::kRecordingsDiffer,
       fmt::format("between the recordings, {}. Each recording is fitted with its own values. Do not change gains, leads or the "
                   "settings of the recorder between recordings.",
                   fmt::join(found, ", and "))});
}

std::optional<Observation> observation_outside(const Session& session, std::size_t index, const JointFit& joint) {
  const Step& step = session.steps[index];
  if (!step.measurement() || !is_setting(step.log)) return std::nullopt;
  const auto leaks = leaks_near(*step.measurement(), joint.observations.frequency_hz);
  if (!leaks) return std::nullopt;
  Observation o = observation_of(step, index, *leaks, session.facts.rpm.value_or(kNominalRpm));
  put_in_places(o, joint.electronics, joint.wiring);
  // The polarity is corrected as in the fitted recordings.
  const bool reversed = joint.wiring.polarity_reversed.value_or(false);
  if (o.interchannel_phase_rad && reversed != joint.polarity_turned) *o.interchannel_phase_rad += std::numbers::pi;
  if (reversed) o.vertical = !o.vertical;
  for (const StepWiring& wiring : joint.wiring_outside) {
    if (wiring.row == index) rewire(wiring, o);
  }
  return o;
}

void find_wiring_outside(const Session& session, JointFit& joint) {
  for (std::size_t s = 0; s < session.steps.size(); ++s) {
    if (session.steps[s].log.use == StepUse::kYes) continue;
    const auto seen = observation_outside(session, s, joint);
    if (!seen || !seen->phase_known || misfit_outside(*seen, joint) < kOutsideContradicts) continue;
    StepWiring best;
    double least = HUGE_VAL, next = HUGE_VAL;
    for (const StepWiring wiring : {StepWiring{s, false, true}, StepWiring{s, true, false}, StepWiring{s, true, true}}) {
      Observation o = *seen;
      rewire(wiring, o);
      const double here = misfit_outside(o, joint);
      if (here < least) best = wiring;
      next = std::min(next, std::max(least, here));
      least = std::min(least, here);
    }
    if (least > kOutsideAgrees || next - least < kOutsideClearly) continue;
    joint.wiring_outside.push_back(best);
    report_wiring(best, session, s, joint);
  }
}

Complex own_gain_outside(const Observation& o, const JointFit& joint) {
  const TiltAccount& account = joint.tilt.likeliest();
  const Complex common = ln_gain_of(account.common, o.leads_swapped);
  Complex own;
  if (joint.gains.spread.neper > 0 && o.ln_level_ratio) own.real(*o.ln_level_ratio - common.real() - account.common[kLnCutRatio]);
  if (joint.gains.spread.phase_rad > 0 && o.interchannel_phase_rad) {
    own.imag(std::remainder(*o.interchannel_phase_rad - common.imag() - account.common[kCutPhase], 2 * std::numbers::pi));
  }
  return own;
}

}  // namespace evenwall::internal::solve
