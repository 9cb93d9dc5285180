// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/inner_frames.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "measure/local_level.hpp"
#include "measure/method_constants.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

/// Determines which frames belong to a stretch.
class Membership {
 public:
  /// sizes: magnitudes of the reference channel. local: the level around each of them.
  Membership(const LockInFrames& frames, const ToneStretch& stretch, const std::vector<double>& sizes, LocalLevel& local)
      : frames_(frames),
        stretch_(stretch),
        reference_(stretch.driven == Driven::kLeft ? frames.left : frames.right),
        sizes_(sizes),
        local_(local),
        most_rad_(2.0 * std::numbers::pi * frames.hop_s * std::max(kLeastDetuning_hz, kMostDetuning * stretch.frequency_hz)) {}

  /// Whether the stretch's tone sounds in frame f. The median level and the majority of the frames around decide, so that a click near an
  /// edge does not move the edge.
  [[nodiscard]] bool sounds(std::size_t f) const {
    const std::size_t reach = std::min({kEdgeMedianFrames, f, sizes_.size() - 1 - f});
    std::size_t alike = 0;
    for (std::size_t g = f - reach; g <= f + reach; ++g) alike += of_its_kind(g) ? 1 : 0;
    if (alike <= reach) return false;
    const auto middle = sizes_.begin() + static_cast<std::ptrdiff_t>(f);
    const auto width = static_cast<std::ptrdiff_t>(reach);
    return !local_.below(numeric::median({middle - width, middle + width + 1}), kLeastLevel, f);
  }

 private:
  /// Whether frame f has the stretch's driven channel and pitch. The level shows no edge if bands follow each other without a gap.
  [[nodiscard]] bool of_its_kind(std::size_t f) const {
    const std::size_t g = std::min(f, reference_.size() - 2);
    return driven_by(std::abs(frames_.left[f]), std::abs(frames_.right[f])) == stretch_.driven &&
           std::abs(std::arg(reference_[g + 1] * std::conj(reference_[g]))) <= most_rad_;
  }

  const LockInFrames& frames_;
  const ToneStretch& stretch_;
  const std::vector<Complex>& reference_;
  const std::vector<double>& sizes_;
  LocalLevel& local_;
  double most_rad_;
};

/// The first frame that sounds, and the frame after the last one. If no frame sounds, the first is the number of frames.
std::pair<std::size_t, std::size_t> sounding(const Membership& membership, std::size_t frames) {
  std::size_t first = 0;
  while (first < frames && !membership.sounds(first)) ++first;
  std::size_t last = frames;
  while (last > first && !membership.sounds(last - 1)) --last;
  return {first, last};
}

}  // namespace

std::optional<InnerFrames> inner_frames(const LockInFrames& frames, const ToneStretch& stretch) {
  const Driven driven = stretch.driven;
  const auto& reference = driven == Driven::kLeft ? frames.left : frames.right;
  const auto& other = driven == Driven::kLeft ? frames.right : frames.left;
  if (reference.size() < kLeastFrames) return std::nullopt;
  std::vector<double> sizes;
  for (const Complex& z : reference) sizes.push_back(std::abs(z));
  InnerFrames inner;
  inner.amplitude = numeric::median(sizes);
  LocalLevel local(sizes, inner.amplitude, frames.hop_s);
  const auto [first, last] = sounding(Membership(frames, stretch, sizes, local), sizes.size());
  if (!(inner.amplitude > 0) || last < first + 2 * kEdgeFrames + kLeastFrames) return std::nullopt;
  inner.start_s = frames.middle_s(first);
  inner.end_s = frames.middle_s(last - 1);
  for (std::size_t f = first + kEdgeFrames; f < last - kEdgeFrames; ++f) {
    if (local.below(sizes[f], kLeastLevel, f) || local.above(sizes[f], kLargestLevel, f)) continue;
    inner.middle_s.push_back(frames.middle_s(f));
    inner.driven.push_back(reference[f]);
    inner.quiet.push_back(other[f]);
  }
  inner.lost_fraction = 1.0 - static_cast<double>(inner.driven.size()) / static_cast<double>(last - first - 2 * kEdgeFrames);
  if (inner.driven.size() < kLeastFrames) return std::nullopt;
  return inner;
}

}  // namespace evenwall::internal::measure
