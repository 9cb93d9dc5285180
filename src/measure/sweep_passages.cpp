// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sweep_passages.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <optional>

#include "measure/method_constants.hpp"
#include "numeric/counts.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

struct Point {
  std::size_t frame;
  double time_s, frequency_hz;
};

double coordinate(bool logarithmic, double hz) { return logarithmic ? std::log(hz) : hz; }

bool usable(const ScanFrame& f) {
  return f.frequency_hz > 0 && f.tonal_fraction >= kSweepLeastTonal && std::max(f.amplitude_left, f.amplitude_right) >= kQuietestTone;
}

bool on_law(const SweepLaw& law, const ScanFrame& f) {
  if (!usable(f)) return false;
  const double hz = law.frequency_hz(f.middle_s);
  return std::abs(f.frequency_hz - hz) <= kSweepOffLaw * hz + kSweepOffLaw_hz;
}

double relative_rate(const SweepLaw& law, double time_s) { return law.logarithmic ? law.rate : law.rate / law.frequency_hz(time_s); }

/// Fits the median slope of all pairs and the median offset; up to a third of the points may be wrong.
std::optional<SweepLaw> law_of_pairs(const std::vector<Point>& points, bool logarithmic) {
  std::vector<double> slopes;
  for (std::size_t i = 0; i < points.size(); ++i) {
    for (std::size_t j = i + 1; j < points.size(); ++j) {
      slopes.push_back((coordinate(logarithmic, points[j].frequency_hz) - coordinate(logarithmic, points[i].frequency_hz)) /
                       (points[j].time_s - points[i].time_s));
    }
  }
  if (slopes.empty()) return std::nullopt;
  SweepLaw law{logarithmic, points[points.size() / 2].time_s, 0, numeric::median(slopes)};
  std::vector<double> offsets;
  for (const Point& p : points) offsets.push_back(coordinate(logarithmic, p.frequency_hz) - law.rate * (p.time_s - law.middle_s));
  law.middle_hz = logarithmic ? std::exp(numeric::median(offsets)) : numeric::median(offsets);
  const double rate = std::abs(relative_rate(law, law.middle_s));
  if (!(law.middle_hz > 0) || rate < kSlowestSweep_per_s || rate > kFastestSweep_per_s) return std::nullopt;
  return law;
}

/// Whether the frequency changes by at least a quarter of what the slowest sweep would. Most stretches hold one tone and do not.
bool moves(const std::vector<Point>& points) {
  const auto lower = [](const Point& a, const Point& b) { return a.frequency_hz < b.frequency_hz; };
  const auto [least, most] = std::minmax_element(points.begin(), points.end(), lower);
  return most->frequency_hz > (1 + 0.25 * kSlowestSweep_per_s) * least->frequency_hz;
}

/// Least squares through the points on the law.
SweepLaw refitted(const SweepLaw& law, const std::vector<Point>& points) {
  double n = 0, t = 0, y = 0, tt = 0, ty = 0;
  for (const Point& p : points) {
    const double x = p.time_s - points.front().time_s;
    const double c = coordinate(law.logarithmic, p.frequency_hz);
    n += 1, t += x, y += c, tt += x * x, ty += x * c;
  }
  SweepLaw next = law;
  next.rate = (n * ty - t * y) / (n * tt - t * t);
  next.middle_s = points.front().time_s + t / n;
  next.middle_hz = law.logarithmic ? std::exp(y / n) : y / n;
  return next;
}

struct SweepRun {
  SweepLaw law;
  std::size_t first = 0, last = 0;  // frames on the law, inclusive
  std::vector<Point> points;
};

class SweepFinder {
 public:
  explicit SweepFinder(const Scan& scan) : frames_(scan.frames), taken_(scan.frames.size(), false) {
    bridge_ = numeric::at_least_one(kSweepBridge_s / std::max(scan.frame_step_s, 1e-3));
  }

  std::vector<SweepRun> runs() {
    std::vector<SweepRun> found;
    for (std::size_t seed = 0; seed + kSeedFrames <= frames_.size(); seed += kSeedStep) {
      std::optional<SweepRun> best;
      for (const bool logarithmic : {true, false}) {
        auto run = grown_from(seed, logarithmic);
        if (run && (!best || run->points.size() > best->points.size())) best = std::move(run);
      }
      if (!best) continue;
      for (std::size_t f = best->first; f <= best->last; ++f) taken_[f] = true;
      found.push_back(std::move(*best));
    }
    std::sort(found.begin(), found.end(), [](const SweepRun& a, const SweepRun& b) { return a.first < b.first; });
    return found;
  }

 private:
  [[nodiscard]] std::vector<Point> points_between(std::size_t first, std::size_t last, const SweepLaw* law) const {
    std::vector<Point> points;
    for (std::size_t f = first; f <= last; ++f) {
      const bool in = law != nullptr ? on_law(*law, frames_[f]) : usable(frames_[f]);
      if (in && !taken_[f]) points.push_back({f, frames_[f].middle_s, frames_[f].frequency_hz});
    }
    return points;
  }

  std::optional<SweepRun> grown_from(std::size_t seed, bool logarithmic) const {
    const auto start = points_between(seed, seed + kSeedFrames - 1, nullptr);
    if (static_cast<double>(start.size()) < kSeedShare * kSeedFrames) return std::nullopt;
    if (!moves(start)) return std::nullopt;
    const auto law = law_of_pairs(start, logarithmic);
    if (!law) return std::nullopt;
    SweepRun run{*law, 0, 0, points_between(seed, seed + kSeedFrames - 1, &*law)};
    if (static_cast<double>(run.points.size()) < kSeedShare * kSeedFrames) return std::nullopt;
    for (int i = 0; i < kSweepMostGrowth && grow(run); ++i) {
    }
    return accepted(run) ? std::optional<SweepRun>(std::move(run)) : std::nullopt;
  }

  /// Extends the run by one bridge at each end. Returns false if no further points join.
  bool grow(SweepRun& run) const {
    const std::size_t first = run.points.front().frame;
    const std::size_t last = run.points.back().frame;
    run.law = refitted(run.law, run.points);
    const std::size_t from = first > bridge_ ? first - bridge_ : 0;
    const std::size_t to = std::min(frames_.size() - 1, last + bridge_);
    auto points = points_between(from, to, &run.law);
    if (points.size() < kSeedFrames / 2) return false;
    const bool more = points.size() > run.points.size();
    run.points = std::move(points);
    run.first = run.points.front().frame;
    run.last = run.points.back().frame;
    return more;
  }

  [[nodiscard]] bool accepted(const SweepRun& run) const {
    const Point& a = run.points.front();
    const Point& b = run.points.back();
    if (b.time_s - a.time_s < kSweepShortest_s) return false;
    if (std::abs(std::log(b.frequency_hz / a.frequency_hz)) < std::log(kNarrowestSweep)) return false;
    return static_cast<double>(run.points.size()) >= kSweepOnLawShare * static_cast<double>(b.frame - a.frame + 1) && glides(run);
  }

  /// Whether the frequency moves from frame to frame at the speed of the law. A scale that is played evenly stays on every note.
  [[nodiscard]] static bool glides(const SweepRun& run) {
    std::vector<double> speeds;
    for (std::size_t i = 1; i < run.points.size(); ++i) {
      const Point& a = run.points[i - 1];
      const Point& b = run.points[i];
      if (b.frame == a.frame + 1)
        speeds.push_back((b.frequency_hz - a.frequency_hz) / (run.law.frequency_hz(b.time_s) - run.law.frequency_hz(a.time_s)));
    }
    return !speeds.empty() && std::abs(numeric::median(std::move(speeds)) - 1) < kSweepGlide;
  }

  const std::vector<ScanFrame>& frames_;
  std::vector<bool> taken_;
  std::size_t bridge_ = 10;
};

/// The driven channel. Nothing if the frames do not agree.
std::optional<Driven> driven_of(const SweepRun& run, const std::vector<ScanFrame>& frames) {
  const double ahead = amplitude_ratio(kBandDrivenAhead_db);
  std::size_t left = 0, right = 0;
  for (const Point& p : run.points) {
    const ScanFrame& f = frames[p.frame];
    left += f.amplitude_left > ahead * f.amplitude_right ? 1 : 0;
    right += f.amplitude_right > ahead * f.amplitude_left ? 1 : 0;
  }
  const double enough = kSweepOneDriveShare * static_cast<double>(run.points.size());
  if (static_cast<double>(left) >= enough) return Driven::kLeft;
  if (static_cast<double>(right) >= enough) return Driven::kRight;
  if (static_cast<double>(run.points.size() - left - right) >= enough) return Driven::kBoth;
  return std::nullopt;
}

/// Limits a linear sweep, which may last an hour, to the length of the slowest logarithmic one. Keeps its low end, because the scan finds
/// it there.
void keep_short(SweepStretch& s) {
  if (s.latest_s - s.earliest_s <= kLongestFollowed_s) return;
  const bool rises = s.law.rate > 0;
  if (rises) {
    s.latest_s = s.earliest_s + kLongestFollowed_s;
  } else {
    s.earliest_s = s.latest_s - kLongestFollowed_s;
  }
  s.seen_start_s = std::clamp(s.seen_start_s, s.earliest_s, s.latest_s);
  s.seen_end_s = std::clamp(s.seen_end_s, s.earliest_s, s.latest_s);
}

/// Sets the earliest and latest time of each sweep: the law stays within the frequency range and does not reach adjacent sweeps.
void set_limits(std::vector<SweepStretch>& sweeps, double end_s, double sample_rate_hz) {
  for (std::size_t i = 0; i < sweeps.size(); ++i) {
    SweepStretch& s = sweeps[i];
    s.earliest_s = i > 0 ? sweeps[i - 1].seen_end_s : 0.0;
    s.latest_s = i + 1 < sweeps.size() ? sweeps[i + 1].seen_start_s : end_s;
    const double low_s = s.law.time_s(kSweepLowest_hz);
    const double high_s = s.law.time_s(kHighestShare * sample_rate_hz);
    s.earliest_s = std::min(s.seen_start_s, std::max(s.earliest_s, std::min(low_s, high_s)));
    s.latest_s = std::max(s.seen_end_s, std::min(s.latest_s, std::max(low_s, high_s)));
    keep_short(s);
  }
}

}  // namespace

double SweepLaw::frequency_hz(double time_s) const {
  return logarithmic ? middle_hz * std::exp(rate * (time_s - middle_s)) : middle_hz + rate * (time_s - middle_s);
}

double SweepLaw::cycles(double time_s) const {
  const double t = time_s - middle_s;
  return logarithmic ? middle_hz * std::expm1(rate * t) / rate : middle_hz * t + 0.5 * rate * t * t;
}

double SweepLaw::time_s(double frequency_hz) const {
  assert(frequency_hz > 0 && rate != 0);
  return middle_s + (logarithmic ? std::log(frequency_hz / middle_hz) : frequency_hz - middle_hz) / rate;
}

std::vector<SweepStretch> find_sweeps(const Scan& scan, double sample_rate_hz) {
  std::vector<SweepStretch> sweeps;
  for (const SweepRun& run : SweepFinder(scan).runs()) {
    const auto driven = driven_of(run, scan.frames);
    if (!driven) continue;
    sweeps.push_back({*driven, run.law, scan.frames[run.first].middle_s, scan.frames[run.last].middle_s, 0, 0});
  }
  set_limits(sweeps, scan.end_s, sample_rate_hz);
  return sweeps;
}

}  // namespace evenwall::internal::measure
