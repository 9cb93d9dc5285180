// SPDX-License-Identifier: GPL-3.0-or-later
// Maps the enumerations to the words that documents use for them.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "evenwall/model.hpp"
#include "evenwall/simulate.hpp"

namespace evenwall {

template <typename E, std::size_t kCount>
using EnumNames = std::array<std::pair<E, std::string_view>, kCount>;

template <typename E>
inline constexpr EnumNames<E, 0> kNamesOf{};
template <>
inline constexpr EnumNames<Band, 4> kNamesOf<Band>{
    {{Band::kLeft, "left"}, {Band::kRight, "right"}, {Band::kLateral, "lateral"}, {Band::kVertical, "vertical"}}};
template <>
inline constexpr EnumNames<SimulatedSignal, 5> kNamesOf<SimulatedSignal>{{{SimulatedSignal::kTone, "tone"},
                                                                          {SimulatedSignal::kLogSweep, "log_sweep"},
                                                                          {SimulatedSignal::kLinearSweep, "linear_sweep"},
                                                                          {SimulatedSignal::kPinkNoise, "pink_noise"},
                                                                          {SimulatedSignal::kWhiteNoise, "white_noise"}}};
template <>
inline constexpr EnumNames<StepUse, 4> kNamesOf<StepUse>{
    {{StepUse::kYes, "yes"}, {StepUse::kNo, "no"}, {StepUse::kVerify, "verify"}, {StepUse::kAsFound, "as_found"}}};
template <>
inline constexpr EnumNames<PassageKind, 3> kNamesOf<PassageKind>{
    {{PassageKind::kTone, "tone"}, {PassageKind::kSweep, "sweep"}, {PassageKind::kNoise, "noise"}}};
template <>
inline constexpr EnumNames<Driven, 3> kNamesOf<Driven>{{{Driven::kLeft, "left"}, {Driven::kRight, "right"}, {Driven::kBoth, "both"}}};
template <>
inline constexpr EnumNames<Relation, 2> kNamesOf<Relation>{{{Relation::kInPhase, "in_phase"}, {Relation::kAntiphase, "antiphase"}}};
template <>
inline constexpr EnumNames<Basis, 5> kNamesOf<Basis>{{{Basis::kEqualCrosstalk, "equal_crosstalk"},
                                                      {Basis::kLeastCrosstalk, "least_crosstalk"},
                                                      {Basis::kPhaseMatch, "phase_match"},
                                                      {Basis::kBandLeast, "band_least"},
                                                      {Basis::kBetween, "between"}}};
template <>
inline constexpr EnumNames<Aim, 4> kNamesOf<Aim>{
    {{Aim::kEqual, "equal"}, {Aim::kLeast, "least"}, {Aim::kPhase, "phase"}, {Aim::kBand, "band"}}};
template <>
inline constexpr EnumNames<Weighting, 2> kNamesOf<Weighting>{{{Weighting::kFlat, "flat"}, {Weighting::kA, "a"}}};
template <>
inline constexpr EnumNames<Candidate, 9> kNamesOf<Candidate>{{{Candidate::kEqual, "equal"},
                                                              {Candidate::kLeast, "least"},
                                                              {Candidate::kPhase, "phase"},
                                                              {Candidate::kBandLeast, "band_least"},
                                                              {Candidate::kBandEqual, "band_equal"},
                                                              {Candidate::kContactLimit, "contact_limit"},
                                                              {Candidate::kAsFound, "as_found"},
                                                              {Candidate::kNearestSetting, "nearest_setting"},
                                                              {Candidate::kRecommended, "recommended"}}};
template <>
inline constexpr EnumNames<Scope, 4> kNamesOf<Scope>{{{Scope::kThisRecord, "this_record"},
                                                      {Scope::kAnyRecord, "any_record"},
                                                      {Scope::kTurnOnThisRecord, "turn_on_this_record"},
                                                      {Scope::kTurnOnAnyRecord, "turn_on_any_record"}}};
template <>
inline constexpr EnumNames<Sense, 3> kNamesOf<Sense>{
    {{Sense::kAsLogged, "as_logged"}, {Sense::kReversed, "reversed"}, {Sense::kUndecided, "undecided"}}};
template <>
inline constexpr EnumNames<BalanceSource, 3> kNamesOf<BalanceSource>{
    {{BalanceSource::kLevels, "levels"}, {BalanceSource::kTiltResponse, "tilt_response"}, {BalanceSource::kBoth, "both"}}};
template <>
inline constexpr EnumNames<TurnFrom, 3> kNamesOf<TurnFrom>{
    {{TurnFrom::kLast, "last"}, {TurnFrom::kVerify, "verify"}, {TurnFrom::kStated, "stated"}}};
template <>
inline constexpr EnumNames<TurnDirection, 3> kNamesOf<TurnDirection>{
    {{TurnDirection::kClockwise, "clockwise"}, {TurnDirection::kAnticlockwise, "anticlockwise"}, {TurnDirection::kNone, "none"}}};
template <>
inline constexpr EnumNames<VerdictState, 4> kNamesOf<VerdictState>{{{VerdictState::kEnough, "enough"},
                                                                    {VerdictState::kTurn, "turn"},
                                                                    {VerdictState::kCaptureMore, "capture_more"},
                                                                    {VerdictState::kCheck, "check"}}};
template <>
inline constexpr EnumNames<CorrectedCause, 4> kNamesOf<CorrectedCause>{{{CorrectedCause::kElectronics, "electronics"},
                                                                        {CorrectedCause::kChannelsSwapped, "channels_swapped"},
                                                                        {CorrectedCause::kPolarity, "polarity"},
                                                                        {CorrectedCause::kRecord, "record"}}};
template <>
inline constexpr EnumNames<WarningCode, 73> kNamesOf<WarningCode>{{
    {WarningCode::kTruncated, "truncated"},
    {WarningCode::kHeaderNotFinal, "header_not_final"},
    {WarningCode::kSkippedBytes, "skipped_bytes"},
    {WarningCode::kNotFinite, "not_finite"},
    {WarningCode::kMissingPassage, "missing_passage"},
    {WarningCode::kFrequencyChosen, "frequency_chosen"},
    {WarningCode::kClipped, "clipped"},
    {WarningCode::kLowSignal, "low_signal"},
    {WarningCode::kNoisy, "noisy"},
    {WarningCode::kDropout, "dropout"},
    {WarningCode::kSamplesLost, "samples_lost"},
    {WarningCode::kChannelsSlipped, "channels_slipped"},
    {WarningCode::kLevelStep, "level_step"},
    {WarningCode::kQuantised, "quantised"},
    {WarningCode::kDcOffset, "dc_offset"},
    {WarningCode::kHum, "hum"},
    {WarningCode::kUnevenSpeed, "uneven_speed"},
    {WarningCode::kShortPassage, "short_passage"},
    {WarningCode::kSpeedFound, "speed_found"},
    {WarningCode::kWarpOrResonance, "warp_or_resonance"},
    {WarningCode::kLowSeparation, "low_separation"},
    {WarningCode::kSwappedOrReversed, "swapped_or_reversed"},
    {WarningCode::kPolarityReversed, "polarity_reversed"},
    {WarningCode::kSeveralSettings, "several_settings"},
    {WarningCode::kUnknownKey, "unknown_key"},
    {WarningCode::kDuplicateRow, "duplicate_row"},
    {WarningCode::kDuplicateReading, "duplicate_reading"},
    {WarningCode::kSameRecording, "same_recording"},
    {WarningCode::kStepUnreadable, "step_unreadable"},
    {WarningCode::kUnitSuspect, "unit_suspect"},
    {WarningCode::kSessionDiffers, "session_differs"},
    {WarningCode::kCaptureUnreadable, "capture_unreadable"},
    {WarningCode::kCalibrationFromRecord, "calibration_from_record"},
    {WarningCode::kJoined, "joined"},
    {WarningCode::kRecordNotSurveyed, "record_not_surveyed"},
    {WarningCode::kStepOff, "step_off"},
    {WarningCode::kLeaksOff, "leaks_off"},
    {WarningCode::kStepsContradict, "steps_contradict"},
    {WarningCode::kScaleOff, "scale_off"},
    {WarningCode::kCompressed, "compressed"},
    {WarningCode::kGaugeAssumed, "gauge_assumed"},
    {WarningCode::kGaugeUnderstated, "gauge_understated"},
    {WarningCode::kFewSteps, "few_steps"},
    {WarningCode::kTiltNotLogged, "tilt_not_logged"},
    {WarningCode::kDirectionUnknown, "direction_unknown"},
    {WarningCode::kExtrapolated, "extrapolated"},
    {WarningCode::kNotVerified, "not_verified"},
    {WarningCode::kVerificationFailed, "verification_failed"},
    {WarningCode::kSizesOnly, "sizes_only"},
    {WarningCode::kLevelMismatch, "level_mismatch"},
    {WarningCode::kCriteriaDisagree, "criteria_disagree"},
    {WarningCode::kBeyondContactLimit, "beyond_contact_limit"},
    {WarningCode::kBalanceMovesWithTilt, "balance_moves_with_tilt"},
    {WarningCode::kDistortionMovesWithTilt, "distortion_moves_with_tilt"},
    {WarningCode::kDrift, "drift"},
    {WarningCode::kBacklash, "backlash"},
    {WarningCode::kErrorsAddUp, "errors_add_up"},
    {WarningCode::kRowsExchanged, "rows_exchanged"},
    {WarningCode::kRecordingsDiffer, "recordings_differ"},
    {WarningCode::kBentResponse, "bent_response"},
    {WarningCode::kAimNotMet, "aim_not_met"},
    {WarningCode::kNoReachableSetting, "no_reachable_setting"},
    {WarningCode::kSolutionUnreadable, "solution_unreadable"},
    {WarningCode::kPassedOver, "passed_over"},
    {WarningCode::kIncompleteSolution, "incomplete_solution"},
    {WarningCode::kDuplicateSolution, "duplicate_solution"},
    {WarningCode::kSolutionOff, "solution_off"},
    {WarningCode::kOneCartridge, "one_cartridge"},
    {WarningCode::kOneRecord, "one_record"},
    {WarningCode::kCartridgesConfounded, "cartridges_confounded"},
    {WarningCode::kRecordsConfounded, "records_confounded"},
    {WarningCode::kDisconnected, "disconnected"},
    {WarningCode::kOther, "other"},
}};
template <>
inline constexpr EnumNames<StepFlag, 3> kNamesOf<StepFlag>{
    {{StepFlag::kStepOff, "step_off"}, {StepFlag::kPossiblyOff, "possibly_off"}, {StepFlag::kLeaksOff, "leaks_off"}}};
template <>
inline constexpr EnumNames<ReadingFault, 4> kNamesOf<ReadingFault>{{{ReadingFault::kNoAnswer, "no_answer"},
                                                                    {ReadingFault::kUnreadable, "unreadable"},
                                                                    {ReadingFault::kStepUnreadable, "step_unreadable"},
                                                                    {ReadingFault::kSameRecording, "same_recording"}}};
template <>
inline constexpr EnumNames<Side, 2> kNamesOf<Side>{{{Side::kSpindleSide, "spindle_side"}, {Side::kOuterSide, "outer_side"}}};

template <typename E>
std::string enum_name(E value) {
  for (const auto& [candidate, name] : kNamesOf<E>) {
    if (candidate == value) return std::string(name);
  }
  return {};
}

template <typename E>
std::optional<E> enum_named(std::string_view name) {
  for (const auto& [value, candidate] : kNamesOf<E>) {
    if (candidate == name) return value;
  }
  return std::nullopt;
}

/// All names, for messages and help.
template <typename E>
std::string enum_list(std::string_view between = ", ", std::string_view before_last = "") {
  std::string list;
  for (const auto& [value, name] : kNamesOf<E>) {
    const bool is_last = value == kNamesOf<E>.back().first;
    if (!list.empty()) list += is_last && !before_last.empty() ? before_last : between;
    list += name;
  }
  return list;
}

}  // namespace evenwall
