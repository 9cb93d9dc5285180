// What to warn of in a reading.
#pragma once

#include <vector>

#include "evenwall/measure.hpp"
#include "measure/listen.hpp"

namespace evenwall::internal::measure {

/// Clipping beyond this share of a passage's samples makes it worthless: the step must go.
inline constexpr double kClippedHard = 0.01;
/// More samples than this that are not numbers, likewise.
inline constexpr double kNotFiniteMost = 0.05;

Warnings passage_warnings(const std::vector<HeardPassage>& heard);
/// Channels against the order of the bands on the record, where it is known.
Warnings order_warnings(const std::vector<HeardPassage>& heard, const std::vector<Band>& bands);

}  // namespace evenwall::internal::measure
