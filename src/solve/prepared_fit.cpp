// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/prepared_fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <numbers>
#include <utility>

#include "base/recording_name.hpp"
#include "evenwall/error.hpp"
#include "solve/direction.hpp"
#include "solve/electronics.hpp"
#include "solve/odd_sizes.hpp"
#include "solve/recordings.hpp"
#include "solve/session_priors.hpp"
#include "solve/signal_scale.hpp"
#include "solve/slope_doubt.hpp"
#include "solve/third_octave_doubt.hpp"

namespace evenwall::internal::solve {
namespace {

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

/// Counts all tilts from the last recording. No term of a gauge remains.
void count_from_last(JointFit& joint) {
  const auto& fitted = joint.observations.fitted;
  const auto last = std::max_element(fitted.begin(), fitted.end(), [](const auto& a, const auto& b) { return a.order < b.order; });
  joint.counts_from = static_cast<std::size_t>(last - fitted.begin());
  joint.gauge = {.u_deg = 0, .u_scale = 0, .u_record_deg = joint.gauge.u_record_deg, .signal_scales = joint.gauge.signal_scales};
}

/// A meter's readings determine the response only together with the tilts. Removes recordings without a tilt from such a session.
void require_tilts_of_sizes(const Session& session, JointFit& joint) {
  auto& fitted = joint.observations.fitted;
  if (!joint.sizes_only || steps_with_tilt(fitted) == fitted.size()) return;
  while (!fitted.empty() && !fitted.back().tilt_logged) {
    joint.observations.warnings.push_back(
        {WarningCode::kStepUnreadable,
         fmt::format("{} is excluded: no tilt is logged for it, and other steps have no phases. Enter tilt_deg or tilt_units in the log.",
                     base::recording_name(session.steps[fitted.back().step].log))});
    fitted.pop_back();
  }
  if (fitted.empty()) {
    throw Error(
        ErrorKind::kData,
        "readings without phases need at least three different tilts, and none is logged. Enter tilt_deg or tilt_units in the log, or "
        "supply recordings or phases.");
  }
}

}  // namespace

void put_in_places(Observation& observation, const std::optional<CalibrationPoint>& electronics, const WiringEvidence& evidence) {
  if (electronics) take_out_electronics(*electronics, observation);
  if (observation.leads_swapped) swap_channels(observation);
  if (evidence.channels_swapped.value_or(false)) swap_channels(observation);
}

void turn_polarity(JointFit& joint) {
  joint.gains.phase_centre_rad += joint.gains.phase_centre_rad > 1 ? -std::numbers::pi : std::numbers::pi;
  for (Observation& o : joint.observations.fitted) {
    if (o.interchannel_phase_rad) *o.interchannel_phase_rad += std::numbers::pi;
  }
}

void widen(Observations& observations) {
  const double factor = std::exchange(observations.leak_variance_factor, 1.0);
  for (Observation& o : observations.fitted) o.right_into_left_covariance *= factor, o.left_into_right_covariance *= factor;
}

JointFit arranged(const Session& session, const SolveOptions& options) {
  JointFit joint;
  joint.observations = observations_of(session, options);
  joint.gains = gain_priors(session.facts);
  joint.gauge = gauge_priors(session.facts, options, joint.observations.in_degrees);
  joint.slope_u = session.facts.slope_u.value_or(0);
  const auto third = third_harmonic_percent(session, joint.observations.frequency_hz);
  joint.gauge.signal_scales = signal_scales(joint.slope_u, third);
  joint.u_turn_scale = u_turn_scale(third);
  auto& fitted = joint.observations.fitted;
  joint.sizes_only = sizes_only(fitted);
  require_tilts_of_sizes(session, joint);
  if (!joint.observations.in_degrees && distinct_settings(fitted) == 1) {
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
  joint.third_octave = third_octave_doubt(session, joint.observations);
  const WiringEvidence& evidence = joint.wiring = wiring_evidence(session, joint.observations);
  for (Observation& o : fitted) put_in_places(o, joint.electronics, evidence);
  if (steps_with_tilt(fitted) == 0) correct_by_bands(session, joint);
  undo_wiring(joint, evidence);
  return joint;
}

JointFit prepared(const Session& session, const SolveOptions& options) {
  JointFit joint = arranged(session, options);
  auto& fitted = joint.observations.fitted;
  if (joint.slope_u > 0 && !joint.sizes_only) allow_for_slopes(joint.slope_u, fit_signal(fitted, joint.gains), fitted);
  joint.sizes_only ? settle_sizes(session, joint.gains, joint.gauge, joint.observations) : settle_recordings(session, joint);
  joint.warnings.insert(joint.warnings.begin(), joint.observations.warnings.begin(), joint.observations.warnings.end());
  // The rows with a tilt may all be excluded.
  if (steps_with_tilt(fitted) == 0) count_from_last(joint);
  return joint;
}

}  // namespace evenwall::internal::solve
