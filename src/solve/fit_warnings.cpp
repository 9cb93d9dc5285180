// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/fit_warnings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/counted.hpp"
#include "base/recording_name.hpp"
#include "solve/method_constants.hpp"
#include "solve/signal_scale.hpp"
#include "solve/signal_scale_constants.hpp"
#include "solve/turn_fit.hpp"

namespace evenwall::internal::solve {
namespace {

/// Names the steps without a logged tilt beside steps with one. A forgotten tilt is then seen.
void warn_of_rows_without_tilt(const Session& session, JointFit& joint) {
  const auto& fitted = joint.observations.fitted;
  const std::size_t logged = steps_with_tilt(fitted);
  if (logged == fitted.size()) return;
  const std::string first = base::recording_name(session.steps[fitted[logged].step].log);
  const std::size_t more = fitted.size() - logged - 1;
  joint.warnings.push_back(
      {WarningCode::kTiltNotLogged,
       fmt::format("no tilt is logged for {}{}. The crosstalk of such steps is fitted, but they do not count for the zero of the log. If "
                   "their tilts are known, enter them.",
                   first, more == 0 ? "" : " and " + base::counted(more, "more step"))});
}

/// The turn counts from the last recording that is fitted. A later one that is not fitted may show where the cartridge stands now.
void warn_of_later_recordings(const Session& session, JointFit& joint) {
  const auto& fitted = joint.observations.fitted;
  const auto& excluded = joint.observations.set_aside;
  const std::size_t from = fitted[*joint.counts_from].step;
  const LogEntry& reference = session.steps[from].log;
  for (std::size_t s = 0; s < session.steps.size(); ++s) {
    const LogEntry& log = session.steps[s].log;
    const bool later = log.sequence && reference.sequence ? *log.sequence > *reference.sequence : s > from;
    const bool used = std::any_of(fitted.begin(), fitted.end(), [s](const Observation& o) { return o.step == s; });
    if (log.use != StepUse::kYes || used || !later) continue;
    const bool odd = std::find(excluded.begin(), excluded.end(), s) != excluded.end();
    joint.warnings.push_back(
        {odd ? WarningCode::kLeaksOff : WarningCode::kStepUnreadable,
         fmt::format("{} comes after {}, and it is excluded. The turn counts from the position in {}. If the cartridge "
                     "was turned since then, record it again.",
                     base::recording_name(log), base::recording_name(reference), base::recording_name(reference))});
  }
}

}  // namespace

void judge_scale(JointFit& joint) {
  if (joint.sizes_only || !joint.gauge.in_degrees || joint.tilt.u_free_scale <= 0) return;
  const auto [scale, u] = joint.tilt.scale_by_signal();
  if (std::abs(std::abs(scale) - 1) > kScaleOff * std::hypot(u, joint.gauge.u_scale)) {
    joint.warnings.push_back(
        {WarningCode::kScaleOff,
         fmt::format(
             "according to the signal, one logged degree is {:.3f}° (u {:.3f}°). Check the gauge, or log "
             "the settings as tilt_units. If you roll an arm tube with an offset angle, this factor is the cosine of that angle. A factor "
             "above 1 may also mean that a channel is overloaded.",
             scale, u)});
  }
}

bool judge_compression(const Session& session, JointFit& joint) {
  const auto third = third_harmonic_percent(session, joint.observations.frequency_hz);
  if (!third) return false;
  std::vector<TiltAccount> compressed;
  for (const TiltAccount& a : joint.tilt.accounts) {
    if (a.signal_case == kCompressedCase) compressed.push_back(a);
  }
  const SignalScale scale = overall_scale(compressed);
  if (scale.probability < kCompressedWorthTelling) return false;
  joint.warnings.push_back(
      {WarningCode::kCompressed,
       fmt::format("the third harmonic of the tones is {:.1f} %. The driven channel is probably compressed, by some {:.1f} % (u {:.1f} %). "
                   "Crosstalk and its change with the tilt are then too large by as much. The uncertainty of tilts in degrees includes "
                   "this. The number to set on the gauge hardly depends on it. Lower the recording level, and check that no amplifier is "
                   "overloaded.",
                   *third, 100 * scale.s, 100 * scale.u)});
  return true;
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

void judge_gauge(const Session& session, JointFit& joint) {
  warn_of_rows_without_tilt(session, joint);
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

void judge_turn(const Session& session, JointFit& joint) {
  const auto& fitted = joint.observations.fitted;
  if (fitted.size() == 1) {
    joint.warnings.push_back({WarningCode::kFewSteps,
                              "there is only one recording. The gain ratio of the channels is taken from the levels of the bands, and no "
                              "step can be checked against another. Turn the cartridge by a degree or two, and record again."});
  } else if (!azimuths_differ(joint.signal)) {
    joint.warnings.push_back({WarningCode::kFewSteps,
                              "the recordings show no clear difference of azimuth. The gain ratio of the channels is taken from the levels "
                              "of the bands. Turn the cartridge by a degree or two, and record again."});
  } else if (fitted.size() == 2) {
    joint.warnings.push_back(
        {WarningCode::kFewSteps, "there are only two recordings. Neither can be checked against the other. Record one more azimuth."});
  }
  warn_of_later_recordings(session, joint);
}

}  // namespace evenwall::internal::solve
