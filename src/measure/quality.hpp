// SPDX-License-Identifier: GPL-3.0-or-later
// Lists the warnings about the passages of a measurement.
#pragma once

#include <vector>

#include "evenwall/measure.hpp"
#include "measure/listen.hpp"
#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {

Warnings passage_warnings(const std::vector<HeardPassage>& heard);
/// Compares the driven channels and relations with the bands of the record, if these are known. Warns of swapped channels and of a reversed
/// polarity.
Warnings order_warnings(const std::vector<HeardPassage>& heard, const std::vector<Band>& bands);

}  // namespace evenwall::internal::measure
