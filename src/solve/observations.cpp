// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/observations.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "base/recording_name.hpp"
#include "evenwall/error.hpp"
#include "numeric/revolution.hpp"
#include "solve/fit_frequency.hpp"
#include "solve/heard_tones.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

Eigen::Matrix2d covariance_of(const ComplexEstimate& e) {
  Eigen::Matrix2d c;
  const double cross = e.correlation * e.u_re * e.u_im;
  const double least = kLeastRatio_u * kLeastRatio_u;
  c << e.u_re * e.u_re + least, cross, cross, e.u_im * e.u_im + least;
  return c;
}

/// Whether a passage measures a frequency: a tone near it, a sweep across it, or noise.
bool reaches(const Passage& p, double frequency_hz) {
  if (p.kind == PassageKind::kNoise) return true;
  if (p.frequency_hz) return std::abs(*p.frequency_hz - frequency_hz) <= kFrequencyMatch * frequency_hz;
  if (!p.frequency_from_hz || !p.frequency_to_hz) return false;
  const auto [low, high] = std::minmax(*p.frequency_from_hz, *p.frequency_to_hz);
  return low <= frequency_hz && frequency_hz <= high;
}

bool from_sweep(const Measurement& measured, Driven driven, double frequency_hz) {
  bool sweep = false;
  for (const Passage& p : measured.passages) {
    if (p.driven != driven || !reaches(p, frequency_hz)) continue;
    if (p.kind == PassageKind::kTone) return false;
    sweep |= p.kind == PassageKind::kSweep;
  }
  return sweep;
}

/// The excess of a covariance's long axis over the short one is due to the groove and the same at every step, up to the variance that the
/// reading states for it. Subtracts it from the covariance and returns it as a standard uncertainty.
double part_groove_from_noise(Eigen::Matrix2d& covariance, double most_variance) {
  const double mean = 0.5 * covariance.trace();
  const double spread = std::hypot(0.5 * (covariance(0, 0) - covariance(1, 1)), covariance(0, 1));
  if (!(spread > 0)) return 0;
  const double groove = std::min(most_variance, 2 * spread);
  // ½(1 + D/spread) projects on the long axis. D is the covariance minus its mean.
  const Eigen::Matrix2d long_axis = 0.5 * (Eigen::Matrix2d::Identity() + (covariance - mean * Eigen::Matrix2d::Identity()) / spread);
  covariance -= groove * long_axis;
  return std::sqrt(groove);
}

double degrees_of_freedom(const Passage& passage, double rpm) {
  const double duration_s = passage.end_s - passage.start_s;
  switch (passage.kind) {
    case PassageKind::kTone:
      return numeric::tone_degrees_of_freedom(duration_s);
    case PassageKind::kSweep:
      return numeric::sweep_degrees_of_freedom(duration_s, rpm);
    case PassageKind::kNoise:
      break;
  }
  return numeric::noise_degrees_of_freedom(duration_s, rpm);
}

double degrees_of_freedom(const Measurement& measured, Driven driven, double frequency_hz, double rpm) {
  double nu = 0;
  for (const Passage& p : measured.passages) {
    if (p.driven == driven && reaches(p, frequency_hz)) nu += degrees_of_freedom(p, rpm);
  }
  // A measurement without passages states its uncertainty, which counts as known.
  return measured.passages.empty() ? kKnown : std::max(kLeastDegrees, nu);
}

/// The passage that the reading's phase was measured on: an antiphase one only if there is no other.
const Passage* both_channel_passage(const Measurement& measured, double frequency_hz) {
  const Passage* found = nullptr;
  for (const Passage& p : measured.passages) {
    if (p.driven != Driven::kBoth || !reaches(p, frequency_hz)) continue;
    if (p.relation == Relation::kInPhase) return &p;
    if (found == nullptr) found = &p;
  }
  return found;
}

std::string step_name(const Step& step) { return base::recording_name(step.log); }

bool has_tilt(const Step& step) { return step.log.tilt_deg || step.log.tilt_units; }

double tilt_of(const Step& step) { return step.log.tilt_deg ? *step.log.tilt_deg : *step.log.tilt_units; }

/// The reason why the step cannot be fitted; empty if it can.
std::optional<std::string> reason_to_leave_out(const Step& step, double frequency_hz, bool in_degrees) {
  if (step.error()) return step.error()->message;
  if (!has_tilt(step) && !step.measurement()->phases_measured)
    return "no tilt is logged for it, and it has no phases. Enter tilt_deg or tilt_units in the log.";
  if (!is_setting(step.log)) return fmt::format("its tilt of {:g} is outside ±1e6. Correct the log.", tilt_of(step));
  if (step.log.tilt_u.value_or(0) > kMostTilt) return fmt::format("its tilt_u of {:g} exceeds 1e6. Correct the log.", *step.log.tilt_u);
  if (has_tilt(step) && step.log.tilt_deg.has_value() != in_degrees)
    return "it is logged in another unit than the other steps. Use one column for all.";
  const auto leaks = leaks_near(*step.measurement(), frequency_hz);
  if (!leaks) return missing_pair(*step.measurement(), frequency_hz);
  for (const auto* leak : {&leaks->right_into_left, &leaks->left_into_right}) {
    const ComplexEstimate& ratio = (*leak)->same_passage;
    if (std::max(ratio.u_re, ratio.u_im) > kMostRatio_u) return "the uncertainty of its crosstalk is above +60 dB. Measure it again.";
  }
  return std::nullopt;
}

/// Requires: `warnings` contains the reasons that were not reported with the session.
[[noreturn]] void refuse_without_step(const Warnings& warnings) {
  if (warnings.empty()) throw Error(ErrorKind::kData, "no step of the session can be used. The warnings above state the reasons.");
  const std::string first = warnings.size() == 1 ? ": " : fmt::format(". The first of {} warnings: ", warnings.size());
  throw Error(ErrorKind::kData, "no step of the session can be used" + first + warnings.front().message);
}

}  // namespace

bool is_setting(const LogEntry& log) {
  return std::abs(log.tilt_deg.value_or(0)) <= kMostTilt && std::abs(log.tilt_units.value_or(0)) <= kMostTilt;
}

std::optional<LeakPair> leaks_near(const Measurement& measured, double frequency_hz) {
  std::optional<LeakPair> nearest;
  for (const LeakPair& pair : measured.crosstalk_spectrum) {
    const double off = std::abs(pair.frequency_hz - frequency_hz);
    if (!pair.right_into_left || !pair.left_into_right || off > kFrequencyMatch * frequency_hz) continue;
    if (!nearest || off < std::abs(nearest->frequency_hz - frequency_hz)) nearest = pair;
  }
  return nearest;
}

Observation observation_of(const Step& step, std::size_t index, const LeakPair& leaks, double rpm) {
  const Measurement& measured = *step.measurement();
  Observation o;
  o.step = index;
  o.tilt_logged = has_tilt(step);
  o.logged = o.tilt_logged ? tilt_of(step) : 0.0;
  o.gauge_u = step.log.tilt_u;
  o.leads_swapped = step.log.leads_swapped;
  o.approach = step.log.approach == "up" ? 1 : step.log.approach == "down" ? -1 : 0;
  o.phase_known = measured.phases_measured;
  o.right_into_left = leaks.right_into_left->same_passage.value;
  o.left_into_right = leaks.left_into_right->same_passage.value;
  o.right_into_left_covariance = covariance_of(leaks.right_into_left->same_passage);
  o.left_into_right_covariance = covariance_of(leaks.left_into_right->same_passage);
  o.right_degrees_of_freedom = degrees_of_freedom(measured, Driven::kRight, leaks.frequency_hz, rpm);
  o.left_degrees_of_freedom = degrees_of_freedom(measured, Driven::kLeft, leaks.frequency_hz, rpm);
  const auto stated = [&](const std::optional<Leak>& leak, Driven driven) {
    // A sweep's noise is the same in both parts, so all of the difference is due to the groove.
    if (from_sweep(measured, driven, leaks.frequency_hz)) return std::numeric_limits<double>::infinity();
    return leak->same_passage.u_groove * leak->same_passage.u_groove;
  };
  o.right_into_left_groove_u = part_groove_from_noise(o.right_into_left_covariance, stated(leaks.right_into_left, Driven::kRight));
  o.left_into_right_groove_u = part_groove_from_noise(o.left_into_right_covariance, stated(leaks.left_into_right, Driven::kLeft));
  o.right_into_left_in_third_octave = leaks.right_into_left->same_passage.rms_in_third_octave;
  o.left_into_right_in_third_octave = leaks.left_into_right->same_passage.rms_in_third_octave;
  // The gain ratio by levels is the quotient of the measured ratio and the gain-free one.
  const Leak& rl = *leaks.right_into_left;
  if (rl.re && rl.im && std::abs(o.right_into_left) > 0 && std::hypot(*rl.re, *rl.im) > 0) {
    const Complex gain = o.right_into_left / Complex(*rl.re, *rl.im);
    o.ln_level_ratio = std::log(std::abs(gain));
    o.u_ln_level_ratio = std::hypot(kLevelRepeats_neper, measured.u_balance_db.value_or(0) / kDbPerNeper);
    if (const Passage* both = both_channel_passage(measured, leaks.frequency_hz)) {
      o.interchannel_phase_rad = std::arg(gain);
      o.vertical = both->relation == Relation::kAntiphase;
    }
  }
  return o;
}

Observations observations_of(const Session& session, const SolveOptions& options) {
  Observations result;
  result.warnings = session.warnings;
  result.frequency_hz = fit_frequency_hz(session, options);
  const auto fitted_with = [&](auto unit) {
    return std::any_of(session.steps.begin(), session.steps.end(),
                       [&](const Step& s) { return s.log.use == StepUse::kYes && s.measurement() && s.log.*unit; });
  };
  result.in_degrees = fitted_with(&LogEntry::tilt_deg) || !fitted_with(&LogEntry::tilt_units);
  std::vector<double> frequencies_hz;
  for (std::size_t i = 0; i < session.steps.size(); ++i) {
    const Step& step = session.steps[i];
    if (step.log.use != StepUse::kYes) {
      if (!is_setting(step.log) && step.log.use != StepUse::kNo) {
        result.warnings.push_back(
            {WarningCode::kStepUnreadable,
             fmt::format("{} is excluded: its tilt of {:g} is outside ±1e6. Correct the log.", step_name(step), tilt_of(step))});
      }
      continue;
    }
    if (const auto reason = reason_to_leave_out(step, result.frequency_hz, result.in_degrees)) {
      // Only the session's warnings are searched: the same reason for another step does not cover this one.
      const bool told = std::any_of(session.warnings.begin(), session.warnings.end(),
                                    [&](const Warning& w) { return w.message.find(*reason) != std::string::npos; });
      if (!told) result.warnings.push_back({WarningCode::kStepUnreadable, fmt::format("{} is excluded: {}", step_name(step), *reason)});
      continue;
    }
    const auto leaks = leaks_near(*step.measurement(), result.frequency_hz);
    result.fitted.push_back(observation_of(step, i, *leaks, session.facts.rpm.value_or(kNominalRpm)));
    frequencies_hz.push_back(leaks->frequency_hz);
  }
  if (result.fitted.empty()) refuse_without_step(result.warnings);
  // The rows of a log and the lines of a file of readings are in the order of capture, unless every fitted row has a sequence number.
  const auto in_sequence = [&](const Observation& o) { return session.steps[o.step].log.sequence.has_value(); };
  const bool sequence_known = std::all_of(result.fitted.begin(), result.fitted.end(), in_sequence);
  for (Observation& o : result.fitted) o.order = sequence_known ? *session.steps[o.step].log.sequence : static_cast<double>(o.step);
  const auto before = [&](const Observation& a, const Observation& b) {
    if (a.tilt_logged != b.tilt_logged) return a.tilt_logged;
    if (a.logged != b.logged) return a.logged < b.logged;
    if (!a.tilt_logged && a.order != b.order) return a.order < b.order;
    const int named = session.steps[a.step].log.capture.compare(session.steps[b.step].log.capture);
    return named != 0 ? named < 0 : a.right_into_left.real() < b.right_into_left.real();
  };
  std::sort(result.fitted.begin(), result.fitted.end(), before);
  // In ascending order, so that the order of the log's rows does not change the last digit.
  std::sort(frequencies_hz.begin(), frequencies_hz.end());
  result.frequency_hz = std::accumulate(frequencies_hz.begin(), frequencies_hz.end(), 0.0) / static_cast<double>(frequencies_hz.size());
  return result;
}

std::size_t steps_with_tilt(const std::vector<Observation>& fitted) {
  const auto first = std::find_if(fitted.begin(), fitted.end(), [](const Observation& o) { return !o.tilt_logged; });
  return static_cast<std::size_t>(first - fitted.begin());
}

std::size_t distinct_settings(const std::vector<Observation>& fitted) {
  const std::size_t logged = steps_with_tilt(fitted);
  std::size_t n = logged > 0 ? 1 : 0;  // observations are sorted by logged tilt
  for (std::size_t i = 1; i < logged; ++i) n += fitted[i].logged != fitted[i - 1].logged ? 1 : 0;
  return n;
}

void set_aside(std::size_t row, const std::string& why, const Session& session, Observations& observations) {
  const std::size_t step = observations.fitted[row].step;
  observations.set_aside.push_back(step);
  observations.warnings.push_back({WarningCode::kLeaksOff, fmt::format("step {}: {}", step_name(session.steps[step]), why)});
  observations.fitted.erase(observations.fitted.begin() + static_cast<std::ptrdiff_t>(row));
}

bool sizes_only(const std::vector<Observation>& observations) {
  return std::any_of(observations.begin(), observations.end(), [](const Observation& o) { return !o.phase_known; });
}

void swap_channels(Observation& o) {
  std::swap(o.right_into_left, o.left_into_right);
  std::swap(o.right_into_left_covariance, o.left_into_right_covariance);
  std::swap(o.right_degrees_of_freedom, o.left_degrees_of_freedom);
  std::swap(o.right_into_left_groove_u, o.left_into_right_groove_u);
  std::swap(o.right_into_left_by_slope, o.left_into_right_by_slope);
  std::swap(o.right_into_left_in_third_octave, o.left_into_right_in_third_octave);
  if (o.ln_level_ratio) o.ln_level_ratio = -*o.ln_level_ratio;
  if (o.interchannel_phase_rad) o.interchannel_phase_rad = -*o.interchannel_phase_rad;
}

OptionalNumber ln_level_ratio_straight(const Observation& o, const Eigen::VectorXd& common) {
  if (!o.ln_level_ratio || !o.leads_swapped) return o.ln_level_ratio;
  return *o.ln_level_ratio + 2 * common[kLnPreamplifier];
}

}  // namespace evenwall::internal::solve
