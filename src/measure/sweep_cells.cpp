// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sweep_cells.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "measure/method_constants.hpp"
#include "numeric/fft.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

/// Goes outward from frame `from` in direction `step` while the sweep sounds. Returns the last frame that still has half the level.
std::size_t edge_from(const std::vector<TrackFrame>& frames, std::size_t from, int step, Driven driven) {
  std::vector<double> near;
  std::size_t edge = from;
  double level = 0;
  for (auto f = static_cast<std::ptrdiff_t>(from); f >= 0 && f < static_cast<std::ptrdiff_t>(frames.size()); f += step) {
    const TrackFrame& frame = frames[static_cast<std::size_t>(f)];
    const double size = driven_size(frame, driven);
    if (near.size() < kSweepNearFrames / 2 || (size >= kSweepEdgeLevel * level && size <= level / kSweepEdgeLevel)) {
      near.push_back(size);
      if (near.size() > kSweepNearFrames) near.erase(near.begin());
      level = numeric::median(near);
      edge = static_cast<std::size_t>(f);
    } else if (std::abs(frame.middle_s - frames[edge].middle_s) > kSweepGap_s + frame.length_s) {
      break;
    }
  }
  return edge;
}

/// Level at each frame: the median magnitude of the frames near it.
std::vector<double> levels_about(const std::vector<TrackFrame>& frames, Driven driven) {
  std::vector<double> sizes;
  for (const TrackFrame& f : frames) sizes.push_back(driven_size(f, driven));
  std::vector<double> levels(sizes.size());
  for (std::size_t f = 0; f < sizes.size(); ++f) {
    const auto first = sizes.begin() + static_cast<std::ptrdiff_t>(f > kSweepNearFrames ? f - kSweepNearFrames : 0);
    const auto last = sizes.begin() + static_cast<std::ptrdiff_t>(std::min(sizes.size(), f + kSweepNearFrames + 1));
    levels[f] = numeric::median({first, last});
  }
  return levels;
}

/// For each frame, the power of both channels beside the track over the median of the frames near it. It is 1 if that median is 0.
std::vector<double> loudness_beside(const std::vector<TrackFrame>& frames) {
  std::vector<double> relative(frames.size(), 1.0);
  for (std::size_t f = 0; f < frames.size(); ++f) {
    std::vector<double> near;
    const std::size_t last = std::min(frames.size(), f + kSweepNearFrames + 1);
    for (std::size_t g = f > kSweepNearFrames ? f - kSweepNearFrames : 0; g < last; ++g) near.push_back(frames[g].beside_power);
    const double usual = numeric::median(std::move(near));
    if (usual > 0) relative[f] = frames[f].beside_power / usual;
  }
  return relative;
}

class CellMaker {
 public:
  CellMaker(const Inside& inside, const SweepLaw& law, Driven driven)
      : inside_(inside),
        law_(law),
        driven_(driven),
        least_span_s_(std::max(kSweepCell_s, std::abs(inside.end_s - inside.start_s) / kSweepMostCells)),
        levels_(levels_about(inside.frames, driven)),
        beside_(loudness_beside(inside.frames)) {}

  Cells cells() {
    std::size_t lost = 0;
    for (std::size_t f = 1; f < inside_.frames.size(); ++f) {
      const double size = driven_size(inside_.frames[f], driven_);
      const bool whole = size > 0 && size >= kLeastLevel * levels_[f] && size <= kLargestLevel * levels_[f];
      const bool usable = whole && !clicked(inside_.frames[f], beside_[f]);
      lost += whole ? 0 : 1;
      if (usable && usable_before_) off_hz_ = off_law_hz(inside_.frames[f - 1], inside_.frames[f]);
      usable_before_ = usable;
      if (usable) add(inside_.frames[f]);
    }
    cells_.lost_fraction = static_cast<double>(lost) / static_cast<double>(inside_.frames.size());
    set_frequencies();
    set_noise();
    return std::move(cells_);
  }

 private:
  [[nodiscard]] Complex driven(const TrackFrame& frame) const { return driven_ == Driven::kLeft ? frame.left : frame.right; }
  [[nodiscard]] Complex quiet(const TrackFrame& frame) const { return driven_ == Driven::kLeft ? frame.right : frame.left; }

  [[nodiscard]] bool clicked(const TrackFrame& frame, double beside) const {
    return beside > kSweepClickBeside && frame.beside_power > std::norm(kSweepLeastClick * driven(frame));
  }

  /// Deviation of the played frequency from the law, from the phase that the driven channel gains.
  [[nodiscard]] double off_law_hz(const TrackFrame& before, const TrackFrame& frame) const {
    return std::arg(driven(frame) * std::conj(driven(before))) / (kTwoPi * (frame.middle_s - before.middle_s));
  }

  void add(const TrackFrame& frame) {
    cross_ += quiet(frame) * std::conj(driven(frame));
    power_ += std::norm(driven(frame));
    time_ += frame.middle_s;
    off_ += off_hz_;
    beside_power_ += frame.beside_power;
    // Corrects the window's loss for a frequency off the law.
    ln_level_ += std::log(std::abs(driven(frame)) / std::max(0.3, numeric::hann_response(off_hz_ * frame.length_s)));
    count_ += 1;
    span_s_ += frame.hop_s;
    if (span_s_ < std::max(least_span_s_, 0.999 * frame.length_s)) return;
    cells_.time_s.push_back(time_ / count_);
    cell_off_hz_.push_back(off_ / count_);
    cell_noise_.push_back(beside_power_ > 0 ? std::max(std::sqrt(beside_power_ / count_), kSweepLeastNoise * std::sqrt(power_ / count_))
                                            : 0.0);
    cells_.ln_level.push_back(ln_level_ / count_);
    cells_.reference.push_back(std::sqrt(power_));
    cells_.response.push_back(power_ > 0 ? cross_ / std::sqrt(power_) : Complex{0, 0});
    cross_ = 0;
    power_ = time_ = off_ = beside_power_ = ln_level_ = count_ = span_s_ = 0;
  }

  /// Sets the played frequency, because wow moves it along a resonance's flank. The deviation from the law is the median of three adjacent
  /// rows, limited to kSweepMostOff.
  void set_frequencies() {
    for (std::size_t c = 0; c < cells_.time_s.size(); ++c) {
      const double law_hz = law_.frequency_hz(cells_.time_s[c]);
      const std::size_t first = c > 0 ? c - 1 : c;
      const std::size_t last = std::min(cell_off_hz_.size(), c + 2);
      const double off_hz = numeric::median(
          {cell_off_hz_.begin() + static_cast<std::ptrdiff_t>(first), cell_off_hz_.begin() + static_cast<std::ptrdiff_t>(last)});
      cells_.ln_f.push_back(std::log(law_hz + std::clamp(off_hz, -kSweepMostOff * law_hz, kSweepMostOff * law_hz)));
    }
  }

  /// Sets each row's noise to the median of nine rows, about thirty frames. If the track has no room beside it, the nearest known value
  /// counts.
  void set_noise() {
    if (cell_noise_.empty()) return;
    for (std::size_t c = 1; c < cell_noise_.size(); ++c) {
      if (cell_noise_[c] == 0) cell_noise_[c] = cell_noise_[c - 1];
    }
    for (std::size_t c = cell_noise_.size() - 1; c-- > 0;) {
      if (cell_noise_[c] == 0) cell_noise_[c] = cell_noise_[c + 1];
    }
    const double usual = numeric::median(cell_noise_);
    if (!(usual > 0)) return cells_.noise.assign(cell_noise_.size(), 1.0);
    for (std::size_t c = 0; c < cell_noise_.size(); ++c) {
      const auto middle = cell_noise_.begin() + static_cast<std::ptrdiff_t>(c);
      const auto before = std::min(kSweepNoiseCells, middle - cell_noise_.begin());
      const auto after = std::min(kSweepNoiseCells + 1, cell_noise_.end() - middle);
      cells_.noise.push_back(numeric::median({middle - before, middle + after}) / usual);
    }
  }

  const Inside& inside_;
  const SweepLaw& law_;
  Driven driven_;
  double least_span_s_;
  std::vector<double> levels_, beside_;
  std::vector<double> cell_off_hz_, cell_noise_;
  Cells cells_;
  Complex cross_{0, 0};
  double power_ = 0, time_ = 0, off_ = 0, beside_power_ = 0, ln_level_ = 0, count_ = 0, span_s_ = 0;
  double off_hz_ = 0;
  bool usable_before_ = false;
};

}  // namespace

double driven_size(const TrackFrame& frame, Driven driven) { return std::abs(driven == Driven::kLeft ? frame.left : frame.right); }

std::optional<Inside> inside_of(std::vector<TrackFrame> frames, const SweepStretch& stretch) {
  const auto at = [&](double time_s) {
    const auto found = std::lower_bound(frames.begin(), frames.end(), time_s, [](const TrackFrame& f, double t) { return f.middle_s < t; });
    return static_cast<std::size_t>(found - frames.begin());
  };
  const double third_s = (stretch.seen_end_s - stretch.seen_start_s) / 3;
  const std::size_t early = at(stretch.seen_start_s + third_s);
  const std::size_t late = at(stretch.seen_end_s - third_s);
  if (late >= frames.size() || late < early + kSweepNearFrames) return std::nullopt;
  const TrackFrame& first = frames[edge_from(frames, late, -1, stretch.driven)];
  const TrackFrame& last = frames[edge_from(frames, early, +1, stretch.driven)];
  Inside inside;
  inside.start_s = first.middle_s;
  inside.end_s = last.middle_s;
  inside.start_hz = first.frequency_hz;
  inside.end_hz = last.frequency_hz;
  inside.frames = std::move(frames);
  std::erase_if(inside.frames, [&](const TrackFrame& f) {
    return f.middle_s - 0.5 * f.length_s < inside.start_s || f.middle_s + 0.5 * f.length_s > inside.end_s;
  });
  return inside.frames.size() < kSweepLeastCells ? std::nullopt : std::optional<Inside>(std::move(inside));
}

Cells cells_of(const Inside& inside, const SweepLaw& law, Driven driven) { return CellMaker(inside, law, driven).cells(); }

SweepLaw refined(const SweepLaw& law, const Track& track, const SweepStretch& stretch) {
  double n = 0, t = 0, y = 0, tt = 0, ty = 0;
  for (std::size_t f = 1; f < track.frames.size(); ++f) {
    const TrackFrame& a = track.frames[f - 1];
    const TrackFrame& b = track.frames[f];
    if (a.middle_s < stretch.seen_start_s || b.middle_s > stretch.seen_end_s) continue;
    const Complex turn = stretch.driven == Driven::kLeft ? b.left * std::conj(a.left) : b.right * std::conj(a.right);
    const double x = b.middle_s - law.middle_s;
    const double off_hz = std::arg(turn) / (kTwoPi * (b.middle_s - a.middle_s));
    // Frames become shorter as the pitch rises, so each is weighted by its length.
    const double w = b.length_s;
    n += w, t += w * x, y += w * off_hz, tt += w * x * x, ty += w * x * off_hz;
  }
  const double spread = n * tt - t * t;
  if (!(spread > 0)) return law;
  const double slope = (n * ty - t * y) / spread;
  SweepLaw next = law;
  next.rate += slope;
  next.middle_hz += (y - slope * t) / n;
  return next;
}

}  // namespace evenwall::internal::measure
