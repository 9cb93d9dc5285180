// SPDX-License-Identifier: GPL-3.0-or-later
// The message of a refusal, for tests that look at its words.
#pragma once

#include <string>

#include "evenwall/error.hpp"

/// What `action` throws as an error of this kind; a text that no message holds where it throws none.
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
