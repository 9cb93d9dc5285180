// SPDX-License-Identifier: GPL-3.0-or-later
// Numbers of sessions for tests of statistics.
#pragma once

#include <algorithm>
#include <cstdlib>

/// True under a sanitizer or valgrind (EVENWALL_SANITIZED in the environment). They make the program ten to fifty times slower and check
/// the code. Further sessions run no further code there, so a test simulates a few only and does not check the share of them.
inline bool few_sessions() {
  static const bool few = std::getenv("EVENWALL_SANITIZED") != nullptr;
  return few;
}

/// The number of sessions to simulate: `sessions`, or a twentieth of them and at least three under a sanitizer.
template <typename Number>
Number drawn(Number sessions) {
  return few_sessions() ? std::min(sessions, std::max(static_cast<Number>(sessions / 20), static_cast<Number>(3))) : sessions;
}
