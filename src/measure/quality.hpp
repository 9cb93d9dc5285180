// SPDX-License-Identifier: GPL-3.0-or-later
// What to warn of in a measurement.
#pragma once

#include <vector>

#include "evenwall/measure.hpp"
#include "measure/listen.hpp"
#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {

Warnings passage_warnings(const std::vector<HeardPassage>& heard);
/// Channels against the order of the bands on the record, where it is known.
Warnings order_warnings(const std::vector<HeardPassage>& heard, const std::vector<Band>& bands);

}  // namespace evenwall::internal::measure
