// SPDX-License-Identifier: GPL-3.0-or-later
// Returns the message of a refusal, for tests that check its words.
#pragma once

#include <string>

#include "evenwall/error.hpp"

/// The message of the error of this kind that `action` throws. If it throws no such error, a text that no message contains.
template <typename Action>
std::string refusal_of(Action action, evenwall::ErrorKind kind = evenwall::ErrorKind::kInput) {
  try {
    action();
  } catch (const evenwall::Error& error) {
    if (error.kind() != kind) return "(another kind of error)";
    return error.what();
  }
  return "(nothing was refused)";
}
