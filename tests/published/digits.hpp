// SPDX-License-Identifier: GPL-3.0-or-later
// Computes how many digits of a published number are correct.
#pragma once

#include <algorithm>
#include <cmath>

/// Log relative error after B. D. McCullough, The American Statistician 52(4), 1998 (from memory): −log10 |x − c|/|c|,
/// or −log10 |x| if c = 0. The result is 0 at least and 15 at most.
inline double digits_right(double value, double certified) {
  const double off = std::abs(value - certified) / (certified == 0 ? 1.0 : std::abs(certified));
  if (!std::isfinite(off)) return 0;
  return off > 0 ? std::clamp(-std::log10(off), 0.0, 15.0) : 15.0;
}
