// SPDX-License-Identifier: GPL-3.0-or-later
// Divides long passages into parts and combines the parts' results, so that memory does not grow with the length of a passage.
#pragma once

#include <optional>
#include <vector>

#include "measure/listen.hpp"
#include "measure/method_constants.hpp"
#include "measure/third_octaves.hpp"

namespace evenwall::internal::measure {

/// Equal parts of a passage, each at most kLongestAtOnce_s long, then extended by kPartOverlap_s into the adjacent parts, so that a step of
/// level or a jump of phase on a border can be detected in one of them. Requires: start_s ≤ end_s.
std::vector<Interval> parts_of(double start_s, double end_s);

/// Combines the parts of one passage, given in time order. Levels and shares of samples or frames are averaged; band_db and level_wander_db
/// are medians; DC, level step and rounding are those of the worst part. Every gap and jump is listed once.
///
/// The ratio is the mean weighted by inverse covariances, and its uncertainty grows if the parts scatter more than their uncertainties
/// predict (Birge ratio). The uncertainty from rounding is the same in all parts and is not averaged. Hum is not set.
/// Requires: at least one part.
/// Accuracy: crosstalk of 3 and 10 minutes within its uncertainty (tests/unit/measure, tests/faults/long_content_test.py).
HeardPassage joined(std::vector<HeardPassage> parts);

/// The same for noise. Only the bands that all parts contain are kept; the result may have no bands.
HeardBands joined(std::vector<HeardBands> parts);

}  // namespace evenwall::internal::measure
