#include "measure/sweep_cells.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "numeric/robust_regression.hpp"

namespace evenwall {
namespace {

constexpr double kTwoPi = 2.0 * std::numbers::pi;
constexpr double kLeastLevel = 0.5;  // of the level about it: outside, a fade, dropout or click
constexpr double kLargestLevel = 1.5;
constexpr double kEdgeLevel = 0.5;  // an edge is where the level has fallen to this
constexpr double kGap_s = 0.15;     // beyond an edge nothing is heard for so long
constexpr std::size_t kNearFrames = 40;
constexpr double kCell_s = 0.010667;  // frames put together to one row: a click costs one or two

/// From frame `from` outward in direction `step` while the sweep is heard; the last frame that still has half the level.
std::size_t edge_from(const std::vector<TrackFrame>& frames, std::size_t from, int step, Driven driven) {
  std::vector<double> near;
  std::size_t edge = from;
  double level = 0;
  for (auto f = static_cast<std::ptrdiff_t>(from); f >= 0 && f < static_cast<std::ptrdiff_t>(frames.size()); f += step) {
    const TrackFrame& frame = frames[static_cast<std::size_t>(f)];
    const double size = driven_size(frame, driven);
    if (near.size() < kNearFrames / 2 || (size >= kEdgeLevel * level && size <= level / kEdgeLevel)) {
      near.push_back(size);
      if (near.size() > kNearFrames) near.erase(near.begin());
      level = median(near);
      edge = static_cast<std::size_t>(f);
    } else if (std::abs(frame.middle_s - frames[edge].middle_s) > kGap_s + frame.length_s) {
      break;
    }
  }
  return edge;
}

/// Level about each frame: the median of those near it.
std::vector<double> levels_about(const std::vector<TrackFrame>& frames, Driven driven) {
  std::vector<double> sizes;
  for (const TrackFrame& f : frames) sizes.push_back(driven_size(f, driven));
  std::vector<double> levels(sizes.size());
  for (std::size_t f = 0; f < sizes.size(); ++f) {
    const auto first = sizes.begin() + static_cast<std::ptrdiff_t>(f > kNearFrames ? f - kNearFrames : 0);
    const auto last = sizes.begin() + static_cast<std::ptrdiff_t>(std::min(sizes.size(), f + kNearFrames + 1));
    levels[f] = median({first, last});
  }
  return levels;
}

/// ln of the driven amplitude, what lies off the law brought back to full size.
double ln_level_of(const TrackFrame& before, const TrackFrame& frame, Driven driven) {
  const Complex a = driven == Driven::kLeft ? before.left : before.right;
  const Complex b = driven == Driven::kLeft ? frame.left : frame.right;
  const double off_hz = std::arg(b * std::conj(a)) / (kTwoPi * (frame.middle_s - before.middle_s));
  return std::log(std::abs(b) / std::max(0.3, kept_amplitude(off_hz, frame.length_s)));
}

class CellMaker {
 public:
  CellMaker(const Inside& inside, Driven driven) : inside_(inside), driven_(driven), levels_(levels_about(inside.frames, driven)) {}

  Cells cells() {
    std::size_t lost = 0;
    for (std::size_t f = 1; f < inside_.frames.size(); ++f) {
      const double size = driven_size(inside_.frames[f], driven_);
      if (!(size > 0) || size < kLeastLevel * levels_[f] || size > kLargestLevel * levels_[f]) {
        ++lost;
        continue;
      }
      add(inside_.frames[f - 1], inside_.frames[f]);
    }
    cells_.lost_fraction = static_cast<double>(lost) / static_cast<double>(inside_.frames.size());
    return std::move(cells_);
  }

 private:
  void add(const TrackFrame& before, const TrackFrame& frame) {
    const Complex driven = driven_ == Driven::kLeft ? frame.left : frame.right;
    const Complex quiet = driven_ == Driven::kLeft ? frame.right : frame.left;
    cross_ += quiet * std::conj(driven);
    power_ += std::norm(driven);
    time_ += frame.middle_s;
    ln_level_ += ln_level_of(before, frame, driven_);
    count_ += 1;
    span_s_ += 0.25 * frame.length_s;
    if (span_s_ < std::max(kCell_s, 0.999 * frame.length_s)) return;
    const double middle_s = time_ / count_;
    cells_.time_s.push_back(middle_s);
    cells_.ln_level.push_back(ln_level_ / count_);
    cells_.reference.push_back(std::sqrt(power_));
    cells_.response.push_back(power_ > 0 ? cross_ / std::sqrt(power_) : Complex{0, 0});
    cross_ = 0;
    power_ = time_ = ln_level_ = count_ = span_s_ = 0;
  }

  const Inside& inside_;
  Driven driven_;
  std::vector<double> levels_;
  Cells cells_;
  Complex cross_{0, 0};
  double power_ = 0, time_ = 0, ln_level_ = 0, count_ = 0, span_s_ = 0;
};

}  // namespace

double driven_size(const TrackFrame& frame, Driven driven) { return std::abs(driven == Driven::kLeft ? frame.left : frame.right); }

std::optional<Inside> inside_of(const Track& track, const SweepStretch& stretch) {
  const auto& frames = track.frames;
  const auto at = [&](double time_s) {
    const auto found = std::lower_bound(frames.begin(), frames.end(), time_s, [](const TrackFrame& f, double t) { return f.middle_s < t; });
    return static_cast<std::size_t>(found - frames.begin());
  };
  const double third_s = (stretch.seen_end_s - stretch.seen_start_s) / 3;
  const std::size_t early = at(stretch.seen_start_s + third_s);
  const std::size_t late = at(stretch.seen_end_s - third_s);
  if (late >= frames.size() || late < early + kNearFrames) return std::nullopt;
  const TrackFrame& first = frames[edge_from(frames, late, -1, stretch.driven)];
  const TrackFrame& last = frames[edge_from(frames, early, +1, stretch.driven)];
  Inside inside;
  inside.start_s = first.middle_s;
  inside.end_s = last.middle_s;
  inside.start_hz = first.frequency_hz;
  inside.end_hz = last.frequency_hz;
  for (const TrackFrame& f : frames) {
    if (f.middle_s - 0.5 * f.length_s >= inside.start_s && f.middle_s + 0.5 * f.length_s <= inside.end_s) inside.frames.push_back(f);
  }
  return inside.frames.size() < kLeastCells ? std::nullopt : std::optional<Inside>(std::move(inside));
}

Cells cells_of(const Inside& inside, const SweepLaw& law, Driven driven) {
  Cells cells = CellMaker(inside, driven).cells();
  for (const double t : cells.time_s) cells.ln_f.push_back(std::log(law.frequency_hz(t)));
  return cells;
}

SweepLaw refined(const SweepLaw& law, const Track& track, const SweepStretch& stretch) {
  double n = 0, t = 0, y = 0, tt = 0, ty = 0;
  for (std::size_t f = 1; f < track.frames.size(); ++f) {
    const TrackFrame& a = track.frames[f - 1];
    const TrackFrame& b = track.frames[f];
    if (a.middle_s < stretch.seen_start_s || b.middle_s > stretch.seen_end_s) continue;
    const Complex turn = stretch.driven == Driven::kLeft ? b.left * std::conj(a.left) : b.right * std::conj(a.right);
    const double x = b.middle_s - law.middle_s;
    const double off_hz = std::arg(turn) / (kTwoPi * (b.middle_s - a.middle_s));
    // Frames grow shorter as the pitch rises: each counts for its time.
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

}  // namespace evenwall
