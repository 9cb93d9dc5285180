// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/local_level.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "measure/method_constants.hpp"
#include "numeric/counts.hpp"
#include "numeric/robust_regression.hpp"
#include "numeric/running_median.hpp"

namespace evenwall::internal::measure {
LocalLevel::LocalLevel(const std::vector<double>& sizes, double usual, double hop_s)
    : sizes_(sizes),
      half_(numeric::at_least_one(0.5 * kLocalLevelWindow_s / hop_s)),
      low_(usual / kUsualLevelFactor),
      high_(usual * kUsualLevelFactor) {
  unusual_until_.reserve(sizes.size() + 1);
  unusual_until_.push_back(0);
  for (const double size : sizes) unusual_until_.push_back(unusual_until_.back() + (size >= low_ && size <= high_ ? 0 : 1));
}

bool LocalLevel::as_usual(std::size_t frame) const {
  const std::size_t first = frame - std::min(frame, half_);
  const std::size_t last = std::min(sizes_.size(), frame + half_ + 1);
  // Even if all other magnitudes lie on one side, the middle two then lie between low_ and high_.
  return 2 * (unusual_until_[last] - unusual_until_[first]) + 2 <= last - first;
}

bool LocalLevel::below(double size, double share, std::size_t frame) {
  assert(share > 0 && frame < sizes_.size());
  if (as_usual(frame)) {
    if (size < share * low_) return true;
    if (size >= share * high_) return false;
  }
  return size < share * at(frame);
}

bool LocalLevel::above(double size, double share, std::size_t frame) {
  if (as_usual(frame)) {
    if (size > share * high_) return true;
    if (size <= share * low_) return false;
  }
  return size > share * at(frame);
}

double LocalLevel::at(std::size_t frame) {
  if (!all_.empty()) return all_[frame];
  if (++asked_ > kFewEnoughMedians) {
    all_ = numeric::running_median(sizes_, half_);
    return all_[frame];
  }
  const auto first = sizes_.begin() + static_cast<std::ptrdiff_t>(frame - std::min(frame, half_));
  const auto last = sizes_.begin() + static_cast<std::ptrdiff_t>(std::min(sizes_.size(), frame + half_ + 1));
  return numeric::median({first, last});
}

}  // namespace evenwall::internal::measure
