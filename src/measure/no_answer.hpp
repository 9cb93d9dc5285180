// SPDX-License-Identifier: GPL-3.0-or-later
// Refuses recordings in which nothing can be measured, with what was heard in them.
#pragma once

#include <string>
#include <vector>

#include "measure/frequencies.hpp"

namespace evenwall::internal::measure {

/// Throws Error(kData) with what was found and what to do: clauses without a full stop.
[[noreturn]] void no_answer(const std::string& found, const std::string& remedy);

/// Refuses a recording that lacks the requested frequency. Names the tones that it has, and the cause if one of them lies where a wrong
/// speed or a wrong sample rate puts the requested tone. Throws: Error(kData).
[[noreturn]] void refuse_frequency(const std::vector<AtFrequency>& all, double asked_hz);

}  // namespace evenwall::internal::measure
