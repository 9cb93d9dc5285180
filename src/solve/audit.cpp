// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/audit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "base/recording_name.hpp"
#include "evenwall/units.hpp"
#include "numeric/distributions.hpp"
#include "solve/criteria.hpp"
#include "solve/curves.hpp"
#include "solve/electronics.hpp"
#include "solve/method_constants.hpp"
#include "solve/recordings.hpp"
#include "solve/turn_fit.hpp"

namespace evenwall::internal::solve {
namespace {

double logged_deg(const Observation& o, const JointFit& joint, const TiltAccount& account) {
  const double sign = joint.sense == Sense::kReversed ? -1.0 : 1.0;
  return joint.gauge.in_degrees ? sign * o.logged : account.scale * o.logged;
}

/// Standard uncertainty of a step's setting: its own if the log states one, otherwise the session's; combined with the repeatability of
/// lowering the stylus.
double setting_u_rad(const Observation& o, const JointFit& joint, const TiltAccount& account) {
  const double setting_rad =
      o.gauge_u ? radians(*o.gauge_u * (joint.gauge.in_degrees ? 1.0 : std::abs(account.scale))) : account.gauge_u_rad;
  return std::hypot(setting_rad, joint.tilt.lowering_rad);
}

/// A step's crosstalk relative to the receiving channel's own level, as in the curves. The fitted gain ratio, including the recording's own
/// part, is removed.
struct GainFree {
  OwnLeaks leaks;
  double psi_rad;  ///< tilt from least crosstalk, by this crosstalk alone
};

GainFree gain_free(const Observation& o, const TiltAccount& account, Complex own_ln_gain) {
  const Complex gain = std::exp(ln_gain_of(account.common, o.leads_swapped) + own_ln_gain);
  const Complex rl = o.right_into_left / gain;
  const Complex lr = o.left_into_right * gain;
  const double psi = std::atan(0.5 * (rl - lr).real());
  const Response at = response_at(psi, account.shape());
  const Complex balance = at.left_from_left.value / at.right_from_right.value;  // effect of the tilt on the channels' own levels
  return {{rl / balance, lr * balance}, psi};
}

/// Channel balance, with the fitted difference of the cut levels subtracted and with swapped channels corrected.
OptionalNumber balance_db(const Observation& o, const TiltAccount& account) {
  const OptionalNumber level = ln_level_ratio_straight(o, account.common);
  if (!level) return std::nullopt;
  return (*level - account.common[kLnCutRatio]) * kDbPerNeper;
}

double leak_db(Complex leak) { return decibels(std::max(std::abs(leak), kLeastMagnitude)); }

void set_leaks(SolvedStep& solved, const Observation& o, const OwnLeaks& leaks) {
  solved.right_into_left_db = leak_db(leaks.right_into_left);
  solved.left_into_right_db = leak_db(leaks.left_into_right);
  if (!o.phase_known) return;
  solved.right_into_left_phase_deg = phase_deg(leaks.right_into_left);
  solved.left_into_right_phase_deg = phase_deg(leaks.left_into_right);
}

/// Mean distortion of a channel's own tones near the answer's frequency. `driven`: the channel's name in the measurement.
OptionalNumber distortion_percent(const Measurement& measured, Driven driven, double frequency_hz) {
  double sum = 0;
  int count = 0;
  for (const Passage& p : measured.passages) {
    if (p.driven != driven || !p.distortion_percent || !p.frequency_hz) continue;
    if (std::abs(*p.frequency_hz - frequency_hz) > kFrequencyMatch * frequency_hz) continue;
    sum += *p.distortion_percent;
    ++count;
  }
  return count > 0 ? OptionalNumber(sum / count) : std::nullopt;
}

/// Sets the distortion, in which swapped channels are corrected as for the crosstalk, and the SHA-256 of the recording.
/// Requires: the step is measured.
void set_recording_facts(SolvedStep& solved, const Step& step, bool recorder_swapped, double frequency_hz) {
  const bool swapped = step.log.leads_swapped != recorder_swapped;
  solved.distortion_left_percent = distortion_percent(*step.measurement(), swapped ? Driven::kRight : Driven::kLeft, frequency_hz);
  solved.distortion_right_percent = distortion_percent(*step.measurement(), swapped ? Driven::kLeft : Driven::kRight, frequency_hz);
  solved.audio_sha256 = step.measurement()->audio.sha256;
}

/// For a step without a logged tilt: its tilt by the signal, `u_deg` from the zero of the answer.
void set_tilt_by_signal(SolvedStep& solved, double tilt_deg, double u_deg) {
  solved.tilt_deg = solved.tilt_from_signal_deg = tilt_deg;
  solved.audit_deg.reset();
  solved.u_audit_deg = u_deg;
}

SolvedStep solved_step(const Step& step, const Observation& o, std::size_t row, double wrong, const JointFit& joint,
                       const TiltAccount& account) {
  SolvedStep solved;
  solved.capture = step.log.capture;
  solved.from_s = step.log.from_s;
  solved.to_s = step.log.to_s;
  solved.tilt_deg = logged_deg(o, joint, account);
  solved.tilt_units = step.log.tilt_units;
  solved.logged = step.log.tilt_deg ? step.log.tilt_deg : step.log.tilt_units;
  const auto i = static_cast<Eigen::Index>(row);
  solved.tilt_from_signal_deg = degrees(account.tilt_rad(joint.signal.psi_rad[i]));
  solved.audit_deg = solved.tilt_from_signal_deg - solved.tilt_deg;
  const double setting_rad = setting_u_rad(o, joint, account);
  solved.u_audit_deg =
      degrees(std::sqrt(std::max(0.0, account.covariance(0, 0)) + joint.signal.covariance(i, i) + setting_rad * setting_rad));
  if (joint.counts_from) {
    set_tilt_by_signal(solved, solved.tilt_from_signal_deg, degrees(u_between_rad(joint.signal, row, *joint.counts_from)));
  } else if (!o.tilt_logged) {
    set_tilt_by_signal(solved, solved.tilt_from_signal_deg,
                       degrees(std::sqrt(std::max(0.0, account.covariance(0, 0)) + joint.signal.covariance(i, i))));
  }
  const bool can_name = joint.tilt.settings >= kNamedFrom;
  if (can_name && wrong > kNamedWrong) {
    solved.flags.push_back(StepFlag::kStepOff);
  } else if (can_name && wrong > kPossiblyWrong) {
    solved.flags.push_back(StepFlag::kPossiblyOff);
  }
  set_leaks(solved, o, gain_free(o, account, joint.signal.own_gain(row)).leaks);
  solved.balance_db = balance_db(o, account);
  return solved;
}

/// Whether a step outside of the fit is logged in the unit of the fit, and the fit determines the magnitude of that unit.
bool has_comparable_setting(const LogEntry& log, const JointFit& joint) {
  if (joint.single_unit_step || joint.counts_from) return false;
  return joint.observations.in_degrees ? log.tilt_deg.has_value() : !log.tilt_deg && log.tilt_units;
}

}  // namespace

std::vector<SolvedStep> audited_steps(const Session& session, const JointFit& joint) {
  std::vector<SolvedStep> steps;
  const auto& fitted = joint.observations.fitted;
  const TiltAccount& account = joint.tilt.likeliest();
  std::vector<double> wrong = joint.tilt.probabilities_wrong(fitted.size());
  if (const auto exchange = joint.tilt.exchange()) {
    for (const std::size_t row : exchange->observations) wrong[row] += exchange->probability;
  }
  std::vector<std::optional<std::size_t>> row_of(session.steps.size());
  for (std::size_t row = 0; row < fitted.size(); ++row) row_of[fitted[row].step] = row;
  const bool recorder_swapped = joint.wiring.channels_swapped.value_or(false);
  const double frequency_hz = joint.observations.frequency_hz;
  for (std::size_t s = 0; s < session.steps.size(); ++s) {
    if (const auto row = row_of[s]) {
      steps.push_back(solved_step(session.steps[s], fitted[*row], *row, wrong[*row], joint, account));
      set_recording_facts(steps.back(), session.steps[s], recorder_swapped != joint.swapped(s), frequency_hz);
      continue;
    }
    const LogEntry& log = session.steps[s].log;
    const auto outside = observation_outside(session, s, joint);
    if (!outside || !(has_comparable_setting(log, joint) || joint.counts_from)) continue;
    // The step's tilt by the signal does not depend on the log: it is the rotation that the gain-free crosstalk shows.
    const GainFree free = gain_free(*outside, account, own_gain_outside(*outside, joint));
    const double psi_rad = free.psi_rad;
    SolvedStep solved;
    solved.used = false;
    const auto& set_aside = joint.observations.set_aside;
    if (std::find(set_aside.begin(), set_aside.end(), s) != set_aside.end()) solved.flags.push_back(StepFlag::kLeaksOff);
    solved.capture = log.capture;
    solved.from_s = log.from_s;
    solved.to_s = log.to_s;
    solved.tilt_deg = logged_deg(*outside, joint, account);
    solved.tilt_units = log.tilt_units;
    solved.logged = log.tilt_deg ? log.tilt_deg : log.tilt_units;
    solved.tilt_from_signal_deg = degrees(account.tilt_rad(psi_rad));
    solved.audit_deg = solved.tilt_from_signal_deg - solved.tilt_deg;
    const double setting_rad = setting_u_rad(*outside, joint, account);
    solved.u_audit_deg =
        degrees(std::sqrt(std::max(0.0, account.covariance(0, 0)) + outside->right_into_left_covariance(0, 0) + setting_rad * setting_rad));
    if (joint.counts_from) set_tilt_by_signal(solved, solved.tilt_from_signal_deg, solved.u_audit_deg);
    set_leaks(solved, *outside, free.leaks);
    solved.balance_db = balance_db(*outside, account);
    set_recording_facts(solved, session.steps[s], recorder_swapped != joint.swapped(s), frequency_hz);
    steps.push_back(std::move(solved));
  }
  std::stable_sort(steps.begin(), steps.end(), [](const auto& a, const auto& b) {
    return std::tie(a.tilt_deg, a.capture, a.from_s) < std::tie(b.tilt_deg, b.capture, b.from_s);
  });
  return steps;
}

Warnings audit_warnings(const std::vector<SolvedStep>& steps, const JointFit& joint) {
  Warnings warnings;
  for (const SolvedStep& step : steps) {
    for (const StepFlag flag : step.flags) {
      if (flag == StepFlag::kLeaksOff) continue;  // reported when the step was excluded
      warnings.push_back(
          {WarningCode::kStepOff,
           fmt::format("step {}: the logged tilt of {:+.2f}° {} wrong. The signal shows {:+.3f}° (u of the difference {:.3f}°). The "
                       "answer uses the signal. Check this row of the log.",
                       base::recording_name(step), step.tilt_deg, flag == StepFlag::kStepOff ? "is" : "is possibly",
                       step.tilt_from_signal_deg, step.u_audit_deg)});
    }
  }
  if (joint.tilt.settings == 3 && joint.tilt.stated_p_value < kContradiction) {
    warnings.push_back(
        {WarningCode::kStepsContradict,
         fmt::format("the three steps contradict each other beyond the stated gauge uncertainty (p = {:.1e}). Three steps cannot "
                     "show which one is wrong. Capture one more tilt.",
                     joint.tilt.stated_p_value)});
  }
  return warnings;
}

std::optional<AsFound> as_found_of(const Session& session, const JointFit& joint) {
  for (std::size_t s = 0; s < session.steps.size(); ++s) {
    if (session.steps[s].log.use != StepUse::kAsFound) continue;
    if (const auto o = observation_outside(session, s, joint)) {
      const OwnLeaks leaks = gain_free(*o, joint.tilt.likeliest(), own_gain_outside(*o, joint)).leaks;
      return AsFound{session.steps[s].log.capture,
                     leak_db(leaks.right_into_left),
                     leak_db(leaks.left_into_right),
                     balance_db(*o, joint.tilt.likeliest()),
                     session.steps[s].measurement()->audio.sha256,
                     session.steps[s].log.from_s,
                     session.steps[s].log.to_s};
    }
  }
  return std::nullopt;
}

std::vector<Verification> verifications_of(const Session& session, const JointFit& joint, Warnings& warnings) {
  std::vector<Verification> all;
  const TiltAccount& account = joint.tilt.likeliest();
  for (std::size_t s = 0; s < session.steps.size(); ++s) {
    if (session.steps[s].log.use != StepUse::kVerify) continue;
    const auto o = observation_outside(session, s, joint);
    if (!o) continue;
    const LogEntry& log = session.steps[s].log;
    if (!has_comparable_setting(log, joint)) {
      warnings.push_back(
          {WarningCode::kNotVerified,
           base::recording_name(log) + (joint.counts_from ? ": this step is not verified, because no step has a logged tilt. The turn that "
                                                            "remains counts from it if it is the last recording."
                                        : joint.single_unit_step
                                            ? ": this step is not verified, because the fit has only one setting in tilt_units. "
                                              "Capture another tilt with use yes."
                                            : ": this step is not verified, because it is logged in another unit than the fitted "
                                              "steps. Use one column for all.")});
      continue;
    }
    Verification v;
    v.capture = log.capture;
    v.from_s = log.from_s;
    v.to_s = log.to_s;
    v.tilt_deg = logged_deg(*o, joint, account);
    const OwnLeaks leaks = gain_free(*o, account, own_gain_outside(*o, joint)).leaks;
    v.right_into_left_db = leak_db(leaks.right_into_left);
    v.left_into_right_db = leak_db(leaks.left_into_right);
    const LeakLevels predicted = leak_levels_at_setting(o->logged, account);
    const double k = coverage_factor95(account.degrees_of_freedom);
    const double setting_rad = setting_u_rad(*o, joint, account);
    const auto interval = [&](const LevelAt& level, const Eigen::Matrix2d& covariance) {
      // An error of the setting changes the crosstalk by the slope of the response, which is at most one radian per radian.
      const double reach = k * std::sqrt(level.u_magnitude * level.u_magnitude + covariance.trace() + setting_rad * setting_rad);
      const double magnitude = amplitude_ratio(level.db);
      return Interval{decibels(std::max(kLeastMagnitude, magnitude - reach)), decibels(magnitude + reach)};
    };
    v.predicted_right_into_left_db = predicted.right_into_left.db;
    v.predicted_left_into_right_db = predicted.left_into_right.db;
    v.interval95_right_into_left_db = interval(predicted.right_into_left, o->right_into_left_covariance);
    v.interval95_left_into_right_db = interval(predicted.left_into_right, o->left_into_right_covariance);
    const auto holds = [](const Interval& i, double x) { return i[0] <= x && x <= i[1]; };
    v.agrees = holds(v.interval95_right_into_left_db, v.right_into_left_db) && holds(v.interval95_left_into_right_db, v.left_into_right_db);
    all.push_back(std::move(v));
  }
  return all;
}

}  // namespace evenwall::internal::solve
