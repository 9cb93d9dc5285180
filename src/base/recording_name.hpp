// SPDX-License-Identifier: GPL-3.0-or-later
// Names a recording, or the part of it that is a step.
#pragma once

#include <optional>
#include <string>

namespace evenwall::internal::base {

/// The name, safe to show, and where the part begins: "evening.wav", "evening.wav at 41.5 s". Parts of one recording do not overlap, so
/// that their beginning distinguishes them. A part without a beginning begins at 0 s.
std::string recording_name(const std::string& capture, const std::optional<double>& from_s, const std::optional<double>& to_s);

/// The name of what has these three members.
template <typename T>
std::string recording_name(const T& part) {
  return recording_name(part.capture, part.from_s, part.to_s);
}

/// Whether both are the same part of one recording.
template <typename A, typename B>
bool same_part(const A& a, const B& b) {
  return a.capture == b.capture && a.from_s == b.from_s;
}

}  // namespace evenwall::internal::base
