// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/straight_line.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

namespace evenwall::internal::numeric {

std::optional<StraightLine> straight_line(const std::vector<double>& x, const std::vector<double>& y, double least_scatter) {
  assert(x.size() == y.size());
  const auto n = static_cast<double>(x.size());
  if (x.size() < 3) return std::nullopt;
  const double mean_x = std::accumulate(x.begin(), x.end(), 0.0) / n;
  const double mean_y = std::accumulate(y.begin(), y.end(), 0.0) / n;
  double xx = 0;
  double xy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    xx += (x[i] - mean_x) * (x[i] - mean_x);
    xy += (x[i] - mean_x) * (y[i] - mean_y);
  }
  if (!(xx > 0)) return std::nullopt;
  StraightLine line{mean_y, xy / xx, 0};
  double left = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double r = y[i] - mean_y - line.slope * (x[i] - mean_x);
    left += r * r;
  }
  line.u_slope = std::max(std::sqrt(left / (n - 2)), least_scatter) / std::sqrt(xx);
  return line;
}

}  // namespace evenwall::internal::numeric
