// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/running_median.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace evenwall::internal::numeric {

std::vector<double> running_median(const std::vector<double>& values, std::size_t half) {
  assert(std::none_of(values.begin(), values.end(), [](double value) { return std::isnan(value); }));
  const std::size_t n = values.size();
  std::vector<double> window, medians;
  window.reserve(2 * half + 1);
  medians.reserve(n);
  const auto insert = [&](double x) { window.insert(std::upper_bound(window.begin(), window.end(), x), x); };
  const auto erase = [&](double x) { window.erase(std::lower_bound(window.begin(), window.end(), x)); };
  for (std::size_t i = 0; i < std::min(half, n); ++i) insert(values[i]);
  for (std::size_t i = 0; i < n; ++i) {
    if (i + half < n) insert(values[i + half]);
    if (i > half) erase(values[i - half - 1]);
    const std::size_t middle = window.size() / 2;
    medians.push_back(window.size() % 2 == 1 ? window[middle] : 0.5 * (window[middle - 1] + window[middle]));
  }
  return medians;
}

}  // namespace evenwall::internal::numeric
