// SPDX-License-Identifier: GPL-3.0-or-later
// Fits a straight line through points of equal weight.
#pragma once

#include <optional>
#include <vector>

namespace evenwall::internal::numeric {

struct StraightLine {
  double middle = 0;  ///< value at the mean of x
  double slope = 0;
  double u_slope = 0;  ///< from the scatter of the points about the line, or from `least_scatter` if that is larger
};

/// Nothing if there are fewer than three points or no spread in x. Requires: x.size() == y.size().
std::optional<StraightLine> straight_line(const std::vector<double>& x, const std::vector<double>& y, double least_scatter);

}  // namespace evenwall::internal::numeric
