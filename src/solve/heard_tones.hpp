// SPDX-License-Identifier: GPL-3.0-or-later
// States which tones a recording has if it lacks the one that is solved.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::solve {

/// The reason to exclude a recording that lacks the left-only or the right-only passage at this frequency: the tones that it has, the
/// likely cause if one of them lies where a wrong speed or sample rate puts the tone, and what to do.
std::string missing_pair(const Measurement& measured, double frequency_hz);

}  // namespace evenwall::internal::solve
