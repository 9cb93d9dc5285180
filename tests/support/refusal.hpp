// The message of a refusal, for tests that look at its words.
#pragma once

#include <string>

#include "evenwall/error.hpp"

/// What `action` throws as Error(kInput); a text that no message holds where it throws none.
template <typename Action>
std::string refusal_of(Action action) {
  try {
    action();
  } catch (const evenwall::Error& error) {
    if (error.kind() != evenwall::ErrorKind::kInput) return "(another kind of error)";
    return error.what();
  }
  return "(nothing was refused)";
}
