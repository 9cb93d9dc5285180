// SPDX-License-Identifier: GPL-3.0-or-later
// The true azimuth that a recommendation is to meet.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall {

/// `least_deg`, `equal_deg`: the true azimuths of these criteria. Between the two, it lies at the share of the way that the answer states.
inline double recommended_truth_deg(const Recommended& recommended, double least_deg, const OptionalNumber& equal_deg) {
  if (recommended.basis == Basis::kEqualCrosstalk) return equal_deg.value();
  return least_deg + (recommended.towards_equal ? *recommended.towards_equal * (equal_deg.value() - least_deg) : 0.0);
}

}  // namespace evenwall
