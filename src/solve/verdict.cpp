// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/verdict.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/recording_name.hpp"
#include "numeric/distributions.hpp"
#include "solve/method_constants.hpp"
#include "solve/uncertainty.hpp"

namespace evenwall::internal::solve {
namespace {

constexpr std::size_t kMostNamed = 3;
constexpr double kSharp_deg = 0.02;       // a narrower interval is shown to 0.001°
constexpr double kVerySharp_deg = 0.002;  // to 0.0001°

double half_width(const Interval& interval) { return 0.5 * (interval[1] - interval[0]); }

bool has_warning(const Solution& solution, WarningCode code) {
  return std::any_of(solution.warnings.begin(), solution.warnings.end(), [&](const Warning& w) { return w.code == code; });
}

/// Whether the turn counts from this recording.
bool is_present(const Verification& v, const Solution& solution) {
  return solution.now && solution.now->from == TurnFrom::kVerify && base::same_part(*solution.now, v);
}

/// The verification that shows the present state: that of the recording from which the turn counts, otherwise the last one.
const Verification* last_verification(const Solution& solution) {
  if (solution.verification.empty()) return nullptr;
  for (const Verification& v : solution.verification) {
    if (is_present(v, solution)) return &v;
  }
  return &solution.verification.back();
}

/// "+0.281° (95 % interval +0.274° to +0.288°), clockwise"
std::string turn_text(const Now& now) {
  const double width_deg = now.interval95_deg[1] - now.interval95_deg[0];
  const int decimals = width_deg < kVerySharp_deg ? 4 : width_deg < kSharp_deg ? 3 : 2;
  const std::string side = now.direction == TurnDirection::kClockwise       ? ", clockwise"
                           : now.direction == TurnDirection::kAnticlockwise ? ", anticlockwise"
                                                                            : "";
  return fmt::format("{:+.{}f}° (95 % interval {:+.{}f}° to {:+.{}f}°){}", now.turn_deg, decimals, now.interval95_deg[0], decimals,
                     now.interval95_deg[1], decimals, side);
}

/// The same without a sign, for a turn of which no log and no wiring shows the side: "0.281° (95 % interval 0.274° to 0.288°), in the
/// direction that the answer states".
std::string sideless_turn_text(Now now) {
  if (now.interval95_deg[0] <= 0 && now.interval95_deg[1] >= 0) return turn_text(now);
  if (now.turn_deg < 0) now.interval95_deg = {-now.interval95_deg[1], -now.interval95_deg[0]};
  now.turn_deg = std::abs(now.turn_deg);
  std::string text = turn_text(now);
  text.erase(std::remove(text.begin(), text.end(), '+'), text.end());
  return text + ", in the direction that the answer states";
}

/// Whether the order of `bands` alone shows that the channels are exchanged, and the log contradicts the direction that follows from it.
bool bands_may_be_wrong(const Solution& solution) {
  const auto by_bands = [](const Correction& c) { return c.what == CorrectedCause::kChannelsSwapped && c.from == "bands"; };
  return solution.tilt_response.sense == Sense::kReversed &&
         std::any_of(solution.corrections.begin(), solution.corrections.end(), by_bands);
}

/// The steps that are named as wrong: "step-03.wav, step-05.wav and 2 more".
std::string contradicting_steps(const Solution& solution) {
  std::string names;
  std::size_t wrong = 0;
  for (const SolvedStep& step : solution.steps) {
    const auto is_wrong = [](StepFlag flag) { return flag == StepFlag::kStepOff || flag == StepFlag::kLeaksOff; };
    if (std::none_of(step.flags.begin(), step.flags.end(), is_wrong)) continue;
    if (++wrong <= kMostNamed) names += (names.empty() ? "" : ", ") + base::recording_name(step);
  }
  return wrong > kMostNamed ? fmt::format("{} and {} more", names, wrong - kMostNamed) : names;
}

/// Where the adjuster's nearest setting lies: "0.124° from the recommended azimuth; total crosstalk +0.06 dB".
std::string distance_text(const NearestSetting& nearest) {
  return fmt::format("{:.3f}° from the recommended azimuth; total crosstalk {:+.2f} dB", std::abs(nearest.from_recommended_deg),
                     std::round(nearest.cost_db * 100) / 100 + 0.0);  // no negative zero
}

/// The turn to the adjuster's nearest setting.
OptionalNumber turn_to_nearest_deg(const Solution& solution) {
  if (!solution.now || !solution.nearest_setting) return std::nullopt;
  return solution.now->turn_deg + solution.nearest_setting->from_recommended_deg;
}

std::string enough_text(const Solution& solution, double tolerance_deg, const std::string& wrong) {
  const Verification* verified = last_verification(solution);
  const bool is_verified = verified != nullptr && solution.now->from == TurnFrom::kVerify;
  const std::string within = std::abs(solution.now->turn_deg) <= tolerance_deg
                                 ? fmt::format("within {:g}° of the recommended azimuth", tolerance_deg)
                                 : fmt::format("at {:g}, the adjuster's setting nearest to the recommended azimuth ({})",
                                               solution.nearest_setting->setting, distance_text(*solution.nearest_setting));
  std::string text = is_verified ? fmt::format("set and verified. {} shows the cartridge {}", base::recording_name(*verified), within)
                                 : fmt::format("the cartridge is {}. No turn and no further recording is needed", within);
  if (!wrong.empty()) text += fmt::format(". The log contradicts the crosstalk at {}, which does not change this", wrong);
  return text;
}

std::string turn_verdict_text(const Solution& solution) {
  const bool sideless = solution.recommended.from_capture && !solution.now->direction;
  std::string text = fmt::format("turn the cartridge by {}, then record once more{}.",
                                 sideless ? sideless_turn_text(*solution.now) : turn_text(*solution.now),
                                 solution.recommended.from_capture ? "" : " with `use` verify");
  if (const auto& nearest = solution.nearest_setting) {
    text += fmt::format(" The adjuster's nearest setting is {:g} ({}).", nearest->setting, distance_text(*nearest));
  }
  return text;
}

/// What reduces a term that further recordings do not.
const char* remedy_of(const std::string& term, const SolveOptions& options) {
  if (term == kGaugeZero) return "Count the turn from the last recording, without --from-tilt";
  if (term == kElectronics) {
    return options.calibration ? "Repeat the calibration with longer or louder tones"
                               : "Measure the crosstalk of the electronics with `calibrate`, and state it with --calibration";
  }
  if (term == kSharedBetween) return "Choose one criterion with --aim, or reduce the terms that the budget marks as shared";
  if (term == kSlopes) return "Check the session's `slope_u`, or calibrate the response of the cartridge";
  if (term == kInThirdOctave) return "Capture bands with tones instead of sweeps or noise";
  if (term == kLean) return "Flatten the record, or use another one";
  return options.record_correction ? "Survey more cartridges on this record, or use a record with a better known cut"
                                   : "Use a record with a better known cut, or a record correction by `survey`";
}

/// What the recordings share, if it alone makes the interval too wide, and what to do about it. Otherwise empty.
std::string lasting_text(const Solution& solution) {
  const bool by_crosstalk = !solution.now || solution.now->from != TurnFrom::kStated;
  const double lasting_deg = lasting_u_deg(solution.uncertainty, by_crosstalk);
  if (numeric::kNormal95 * lasting_deg <= tolerance_deg_of(solution)) return "";
  const UncertaintyTerm* largest = nullptr;
  for (const UncertaintyTerm& term : solution.uncertainty) {
    const bool counts = is_lasting(term) && !(by_crosstalk && term.source == kGaugeZero);
    if (counts && (largest == nullptr || term.u_deg > largest->u_deg)) largest = &term;
  }
  return fmt::format(
      "What all recordings share makes half of the 95 % interval at least {:.2f}°. The largest part is the term \"{}\" (u {:.3f}°). {}, or "
      "state a larger --tolerance.",
      numeric::kNormal95 * lasting_deg, largest->source, largest->u_deg, remedy_of(largest->source, solution.options));
}

std::vector<std::string> measured_captures(const Session& session) {
  std::vector<std::string> names;
  for (const Step& step : session.steps) {
    if (step.measurement()) names.push_back(step.log.capture);
  }
  return names;
}

void add_wiring(CorrectedCause what, const std::vector<std::size_t>& steps, const Session& session, const char* text,
                std::vector<Correction>& corrections) {
  if (steps.empty()) return;
  std::vector<std::string> names;
  for (const std::size_t s : steps) names.push_back(session.steps[s].log.capture);
  corrections.push_back({what, std::move(names), "the other recordings", text});
}

}  // namespace

double tolerance_deg_of(const Solution& solution) {
  return solution.options.tolerance_deg.value_or(solution.session.tolerance_deg.value_or(kDefaultTolerance_deg));
}

Verdict verdict_of(const Solution& solution) {
  const double tolerance_deg = tolerance_deg_of(solution);
  const auto told = [&](VerdictState state, std::string text) { return Verdict{state, tolerance_deg, std::move(text)}; };
  const Verification* verification = last_verification(solution);
  const std::string remains = verification != nullptr && is_present(*verification, solution)
                                  ? fmt::format(" The turn that remains is {}.", turn_text(*solution.now))
                                  : "";
  if (verification != nullptr && !verification->agrees) {
    return told(VerdictState::kCheck, fmt::format("the verifying recording {} does not agree with the prediction.{} Check its setting and "
                                                  "its row in the log, and record it again.",
                                                  base::recording_name(*verification), remains));
  }
  if (has_warning(solution, WarningCode::kStepsContradict)) {
    return told(VerdictState::kCheck, "the steps contradict each other. Check the log, and capture one more tilt.");
  }
  if (bands_may_be_wrong(solution)) {
    return told(VerdictState::kCheck,
                "by `bands` the channels are exchanged, and the log then counts in the opposite direction. A wrong "
                "order of `bands` would explain both, and the turn would be in the other direction. Check `bands`.");
  }
  if (!solution.now && verification != nullptr) {
    return told(VerdictState::kCheck,
                fmt::format("the crosstalk of the last recording is not that of a tilt, so the turn that remains is not "
                            "known. Check the leads and the recorder, and record {} again.",
                            base::recording_name(*verification)));
  }
  const std::string wrong = contradicting_steps(solution);
  const bool narrow = solution.now && half_width(solution.now->interval95_deg) <= tolerance_deg;
  const auto to_nearest_deg = turn_to_nearest_deg(solution);
  if (narrow && (std::abs(solution.now->turn_deg) <= tolerance_deg || (to_nearest_deg && std::abs(*to_nearest_deg) <= tolerance_deg))) {
    return told(VerdictState::kEnough, enough_text(solution, tolerance_deg, wrong) + ".");
  }
  if (!wrong.empty()) {
    return told(
        VerdictState::kCheck,
        fmt::format("{}: this contradicts the other steps. Check it in the log, or record it again. The answer rests on the others.",
                    wrong));
  }
  if (narrow) {
    return told(VerdictState::kTurn, turn_verdict_text(solution));
  }
  return told(VerdictState::kCaptureMore, capture_more_text(solution));
}

std::string capture_more_text(const Solution& solution) {
  const double tolerance_deg = tolerance_deg_of(solution);
  if (const std::string lasts = lasting_text(solution); !lasts.empty()) {
    return fmt::format("the turn is not known to {:g}°, and further recordings in this session would not change that. {}", tolerance_deg,
                       lasts);
  }
  if (has_warning(solution, WarningCode::kSeveralSettings)) {
    const std::string which = solution.steps.size() == 1 ? base::recording_name(solution.steps.front()) : "a recording";
    return fmt::format(
        "the turn is not known to {:g}°, and {} seems to hold several settings, but it was measured as one. Give each setting "
        "a row of its own in the log: measure --split prints these rows.",
        tolerance_deg, which);
  }
  return fmt::format("the turn is not known to {:g}°. Capture one more tilt{}.", tolerance_deg,
                     solution.next_step ? ": " + solution.next_step->why : "");
}

Warnings verification_warnings(const Solution& solution) {
  const Verification* v = last_verification(solution);
  if (v == nullptr || v->agrees) return {};
  const std::string remains =
      is_present(*v, solution) ? fmt::format("By the crosstalk, the turn that remains is {}. ", turn_text(*solution.now)) : std::string();
  return {
      {WarningCode::kVerificationFailed,
       fmt::format("{}: the crosstalk is {:.1f} dB right into left and {:.1f} dB left into right, and the prediction for its azimuth is "
                   "{:.1f} dB and {:.1f} dB. {}Check the setting of this step and its row in the log, and record it again.",
                   base::recording_name(*v), v->right_into_left_db, v->left_into_right_db, v->predicted_right_into_left_db,
                   v->predicted_left_into_right_db, remains)}};
}

std::vector<Correction> corrections_of(const Session& session, const JointFit& joint, const SolveOptions& options) {
  std::vector<Correction> corrections;
  if (options.calibration) {
    const std::string from = options.calibration_path ? *options.calibration_path : session.facts.calibration.value_or("calibration");
    corrections.push_back({CorrectedCause::kElectronics, measured_captures(session), from,
                           "the crosstalk of the electronics, as measured by this calibration, is subtracted"});
  }
  if (joint.wiring.channels_swapped.value_or(false)) {
    corrections.push_back({CorrectedCause::kChannelsSwapped, measured_captures(session), "bands",
                           "left and right are exchanged in all recordings, and were put in their places"});
  }
  if (joint.wiring.polarity_reversed.value_or(false)) {
    corrections.push_back({CorrectedCause::kPolarity, measured_captures(session), "bands",
                           "one channel's polarity is reversed in all recordings, and was corrected"});
  }
  add_wiring(CorrectedCause::kChannelsSwapped, joint.swapped_steps, session,
             "left and right are exchanged in these recordings, and were put in their places", corrections);
  add_wiring(CorrectedCause::kPolarity, joint.reversed_steps, session,
             "one channel's polarity is reversed in these recordings, and was corrected", corrections);
  if (const auto& record = options.record_correction) {
    corrections.push_back({CorrectedCause::kRecord, measured_captures(session), record->survey,
                           fmt::format("the cutting-azimuth error of {}, {:+.3f}°, is subtracted", record->record, record->cut_error_deg)});
  }
  return corrections;
}

}  // namespace evenwall::internal::solve
