// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/recordings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.hpp"
#include "solve/method_constants.hpp"
#include "solve/odd_steps.hpp"
#include "solve/recording_gains.hpp"
#include "solve/step_wiring.hpp"

namespace evenwall::internal::solve {
namespace {

void correct_wiring(const Session& session, JointFit& joint) {
  auto& fitted = joint.observations.fitted;
  for (const StepWiring& wiring : step_wiring(fitted, joint.gains)) {
    Observation& o = fitted[wiring.row];
    rewire(wiring, o);
    const std::string name = base::escaped(session.steps[o.step].log.capture);
    if (wiring.swapped) {
      joint.swapped_steps.push_back(o.step);
      joint.warnings.push_back({WarningCode::kSwappedOrReversed,
                                fmt::format("step {}: left and right are swapped in this recording, not in the others. They are in their "
                                            "places here. Switch off, then see to the leads",
                                            name)});
    }
    if (wiring.reversed) {
      joint.warnings.push_back({WarningCode::kPolarityReversed,
                                fmt::format("step {}: one channel's polarity is reversed in this recording, not in the others. It is "
                                            "corrected here. Switch off, then see to the leads",
                                            name)});
    }
  }
}

double span(const Eigen::ArrayXd& values) { return values.maxCoeff() - values.minCoeff(); }

}  // namespace

void settle_recordings(const Session& session, JointFit& joint) {
  auto& fitted = joint.observations.fitted;
  correct_wiring(session, joint);
  joint.gains.spread = recording_spread(fitted, joint.gains).spread;
  const std::size_t before = fitted.size();
  if (settle_leaks(session, joint.gains, joint.observations).gains_alike) joint.gains.spread = {};
  // A recording that was excluded may be what made the gains look unlike each other.
  if (fitted.size() != before) joint.gains.spread = recording_spread(fitted, joint.gains).spread;
}

void warn_of_own_gains(const JointFit& joint, Warnings& warnings) {
  if (joint.signal.own_ln_gain.size() == 0) return;
  const double db = span(joint.signal.own_ln_gain.real().array()) * kDbPerNeper;
  const double phase_deg = degrees(span(joint.signal.own_ln_gain.imag().array()));
  std::string what;
  if (db > kOwnGainWorthReporting_db) what = fmt::format("the channel balance differs between the recordings, by up to {:.2f} dB", db);
  if (phase_deg > kOwnPhaseWorthReporting_deg) {
    what += fmt::format("{} the delay between the channels{}, by up to {:.1f}° at the test frequency", what.empty() ? "" : ", and",
                        what.empty() ? " differs between the recordings" : "", phase_deg);
  }
  if (what.empty()) return;
  if (what.front() == ' ') what.erase(0, 1);
  warnings.push_back(
      {WarningCode::kRecordingsDiffer,
       what + ". Each recording was fitted with its own. Leave gains, leads and the recorder's settings alone between captures"});
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
