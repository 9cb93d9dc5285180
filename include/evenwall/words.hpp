// SPDX-License-Identifier: GPL-3.0-or-later
// The words that documents use for our enumerations.
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
inline constexpr EnumNames<Basis, 2> kNamesOf<Basis>{
    {{Basis::kEqualCrosstalk, "equal_crosstalk"}, {Basis::kLeastCrosstalk, "least_crosstalk"}}};
template <>
inline constexpr EnumNames<Scope, 2> kNamesOf<Scope>{{{Scope::kThisRecord, "this_record"}, {Scope::kAnyRecord, "any_record"}}};
template <>
inline constexpr EnumNames<Sense, 3> kNamesOf<Sense>{
    {{Sense::kAsLogged, "as_logged"}, {Sense::kReversed, "reversed"}, {Sense::kUndecided, "undecided"}}};
template <>
inline constexpr EnumNames<BalanceSource, 3> kNamesOf<BalanceSource>{
    {{BalanceSource::kLevels, "levels"}, {BalanceSource::kTiltResponse, "tilt_response"}, {BalanceSource::kBoth, "both"}}};
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

/// All names, for messages.
template <typename E>
std::string enum_list() {
  std::string list;
  for (const auto& [value, name] : kNamesOf<E>) list += (list.empty() ? "" : ", ") + std::string(name);
  return list;
}

}  // namespace evenwall
