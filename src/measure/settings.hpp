// SPDX-License-Identifier: GPL-3.0-or-later
// Detects a recording that was made at several settings of the tilt.
#pragma once

#include <optional>
#include <vector>

#include "evenwall/model.hpp"
#include "measure/listen.hpp"

namespace evenwall::internal::measure {

/// A warning if a band of one channel recurs with another crosstalk: by more than 5.5 combined standard uncertainties (judgement), and by
/// more than a turn of 0.03° would cause (judgement), which is more than one setting repeats with.
std::optional<Warning> several_settings(const std::vector<HeardPassage>& heard);

}  // namespace evenwall::internal::measure
