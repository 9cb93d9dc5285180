// SPDX-License-Identifier: GPL-3.0-or-later
// Passages too long to be listened to at once: heard part by part, so that memory does not grow with their length.
#pragma once

#include <optional>
#include <vector>

#include "measure/listen.hpp"
#include "measure/method_constants.hpp"
#include "measure/third_octaves.hpp"

namespace evenwall::internal::measure {

/// Equal parts of a passage, each at most kLongestAtOnce_s long and reaching kPartOverlap_s into the next ones: a step of level or a jump
/// of phase on a border is then seen in one of them. Requires: start_s ≤ end_s.
std::vector<Interval> parts_of(double start_s, double end_s);

/// One passage from its parts in time order: means of what has one, the worst of what is a fault, all gaps and jumps once each.
///
/// The ratio is the mean by inverse covariances, and its uncertainty grows if the parts scatter more than theirs (Birge ratio). What
/// rounding hides is the same in all parts and does not shrink. Hum is not set. Requires: one part at least.
/// Accuracy: crosstalk of 3 and 10 minutes within its uncertainty (tests/unit/measure, tests/faults/long_content_test.py).
HeardPassage joined(std::vector<HeardPassage> parts);

/// The same of noise. A band counts if every part fills it; no bands if none does.
HeardBands joined(std::vector<HeardBands> parts);

}  // namespace evenwall::internal::measure
