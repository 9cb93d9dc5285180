// SPDX-License-Identifier: GPL-3.0-or-later
// Compares frames of a passage with the level around them, and computes that level only if necessary.
#pragma once

#include <cstddef>
#include <vector>

namespace evenwall::internal::measure {

/// Compares magnitudes with their running median over three quarters of a second, so that a step of level does not divide a passage and a
/// dropout does not count as a step. The median is computed only if its bounds do not decide the comparison; the result is the same.
class LocalLevel {
 public:
  /// sizes: one magnitude per frame, kept by reference. usual: a value near most of them, such as their median.
  /// Requires: one frame every hop_s.
  LocalLevel(const std::vector<double>& sizes, double usual, double hop_s);
  /// Whether size < share · the level around that frame. Requires: frame < sizes.size(), share > 0.
  [[nodiscard]] bool below(double size, double share, std::size_t frame);
  /// Whether size > share · the level around that frame.
  [[nodiscard]] bool above(double size, double share, std::size_t frame);
  /// The median of the magnitudes around that frame; near the ends it covers fewer of them.
  [[nodiscard]] double at(std::size_t frame);

 private:
  /// Whether enough of the magnitudes around lie between low_ and high_ that their median does, too.
  [[nodiscard]] bool as_usual(std::size_t frame) const;

  const std::vector<double>& sizes_;
  std::size_t half_;
  double low_, high_;
  std::vector<std::size_t> unusual_until_;  // number of magnitudes outside low_ to high_ before each frame
  std::size_t asked_ = 0;
  std::vector<double> all_;  // all running medians; computed once single ones have been requested so often that they would take longer
};

}  // namespace evenwall::internal::measure
