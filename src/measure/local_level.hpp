// SPDX-License-Identifier: GPL-3.0-or-later
// The level around each frame of a passage, told as seldom as possible.
#pragma once

#include <cstddef>
#include <vector>

namespace evenwall::internal::measure {

/// Compares sizes with the running median of all sizes over three quarters of a second: a step of level divides no passage, and a dropout
/// is no step. The median itself is worked out only where its bounds leave the answer open; the answer is the same.
class LocalLevel {
 public:
  /// sizes: one a frame, kept by reference. usual: what most of them are near to, as their median.
  /// Requires: frames follow each other every hop_s.
  LocalLevel(const std::vector<double>& sizes, double usual, double hop_s);
  /// size < share · the level around that frame. Requires: frame < sizes.size(), share > 0.
  [[nodiscard]] bool below(double size, double share, std::size_t frame);
  /// size > share · the level around that frame.
  [[nodiscard]] bool above(double size, double share, std::size_t frame);
  /// The median of the sizes around that frame, fewer of them near the ends.
  [[nodiscard]] double at(std::size_t frame);

 private:
  /// Whether most of the sizes around lie between low_ and high_, and with them their median.
  [[nodiscard]] bool as_usual(std::size_t frame) const;

  const std::vector<double>& sizes_;
  std::size_t half_;
  double low_, high_;
  std::vector<std::size_t> unusual_until_;  // sizes outside low_ to high_ before each frame
  std::size_t asked_ = 0;
  std::vector<double> all_;  // once so many were asked for that single ones take longer
};

}  // namespace evenwall::internal::measure
