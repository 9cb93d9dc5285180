#include "measure/passages.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

constexpr double kTonal = 0.5;      // share of the power that makes a frame a tone: 0 dB over everything else above 150 Hz
constexpr double kQuietest = 3e-4;  // −70 dBFS: below it quantisation and preamplifier noise are what one hears
// Turned by 22.5° a left-only groove and a lateral one look alike: tan 22.5° is -7.66 dB. Halfway between them is right at every smaller
// tilt.
constexpr double kDrivenAhead_db = 7.66;
constexpr double kSamePitch = 0.015;  // wow of 0.6 % peak with flutter, both ways
constexpr double kBridge_s = 0.3;     // a click or dropout does not end a tone
constexpr double kShortest_s = 0.5;
constexpr std::size_t kLeastFrames = 3;  // fewer are chance
constexpr double kWorthNaming_s = 0.3;
constexpr double kGrid_hz = 0.0625;
constexpr double kOnPitchShare = 0.9;  // of a run's frames must lie within kSamePitch of its median
constexpr double kSteadyShare = 0.7;   // of the frames between first and last must be that tone

std::optional<Driven> driven_of(const ScanFrame& frame) {
  const double larger = std::max(frame.amplitude_left, frame.amplitude_right);
  if (frame.tonal_fraction < kTonal || larger < kQuietest) return std::nullopt;
  return driven_by(frame.amplitude_left, frame.amplitude_right);
}

/// A run of frames in the making.
struct Run {
  Driven driven;
  std::vector<ScanFrame> frames;

  [[nodiscard]] bool takes(const ScanFrame& frame, Driven its_driven) const {
    const double last_hz = frames.back().frequency_hz;
    return its_driven == driven && frame.middle_s - frames.back().middle_s <= kBridge_s &&
           std::abs(frame.frequency_hz - last_hz) <= kSamePitch * last_hz;
  }
};

template <typename Member>
double median_of(const std::vector<ScanFrame>& frames, Member member) {
  std::vector<double> values;
  for (const ScanFrame& frame : frames) values.push_back(static_cast<double>(frame.*member));
  return numeric::median(std::move(values));
}

/// A tone keeps its pitch; a sweep leaves it, however slowly.
bool keeps_pitch(const Run& run) {
  const double pitch_hz = median_of(run.frames, &ScanFrame::frequency_hz);
  const auto near = [&](const ScanFrame& f) { return std::abs(f.frequency_hz - pitch_hz) <= kSamePitch * pitch_hz; };
  return static_cast<double>(std::count_if(run.frames.begin(), run.frames.end(), near)) >=
         kOnPitchShare * static_cast<double>(run.frames.size());
}

/// A frame that a dropout or click put off its pitch can part a tone in two: they belong together where pitch and driven channel agree.
std::vector<Run> put_together(std::vector<Run> runs) {
  std::sort(runs.begin(), runs.end(), [](const Run& a, const Run& b) { return a.frames.front().middle_s < b.frames.front().middle_s; });
  std::vector<Run> whole;
  for (Run& run : runs) {
    if (run.frames.size() < kLeastFrames) continue;
    const double pitch_hz = median_of(run.frames, &ScanFrame::frequency_hz);
    const auto earlier = std::find_if(whole.begin(), whole.end(), [&](const Run& w) {
      return w.driven == run.driven && run.frames.front().middle_s - w.frames.back().middle_s <= kBridge_s &&
             std::abs(median_of(w.frames, &ScanFrame::frequency_hz) - pitch_hz) <= kSamePitch * pitch_hz;
    });
    if (earlier == whole.end()) {
      whole.push_back(std::move(run));
      continue;
    }
    auto& frames = earlier->frames;
    frames.insert(frames.end(), run.frames.begin(), run.frames.end());
    std::sort(frames.begin(), frames.end(), [](const ScanFrame& a, const ScanFrame& b) { return a.middle_s < b.middle_s; });
  }
  return whole;
}

ToneStretch stretch_of(const Run& run, double step_s) {
  return {run.driven, run.frames.front().middle_s - 0.5 * step_s, run.frames.back().middle_s + 0.5 * step_s,
          // To a grid: what single precision rounds otherwise on another processor must not reach the oscillator.
          kGrid_hz * std::round(median_of(run.frames, &ScanFrame::frequency_hz) / kGrid_hz)};
}

/// Why a run is no tone, for people. Empty: it may be one.
std::string why_none(const Run& run, const ToneStretch& stretch, double step_s) {
  const double length_s = stretch.end_s - stretch.start_s;
  if (length_s < kShortest_s) return fmt::format("only {:.2f} s long; a passage lasts {:.1f} s or more", length_s, kShortest_s);
  if (!keeps_pitch(run)) return "its pitch moves, as in speech, music or a sweep";
  const double share = static_cast<double>(run.frames.size()) * step_s / length_s;
  if (share < kSteadyShare) return fmt::format("that pitch sounds in {:.0f} % of it only", 100 * share);
  return "";
}

}  // namespace

Driven driven_by(double amplitude_left, double amplitude_right) {
  static const double ahead = amplitude_ratio(kDrivenAhead_db);
  if (amplitude_left > ahead * amplitude_right) return Driven::kLeft;
  if (amplitude_right > ahead * amplitude_left) return Driven::kRight;
  return Driven::kBoth;
}

bool may_be_tone(const ScanFrame& frame) { return driven_of(frame).has_value(); }

std::vector<ToneStretch> find_tones(const Scan& scan, std::vector<RejectedStretch>* rejected) {
  // Several runs may be open at once: a click frame between two tone frames starts one of its own, and must not end theirs.
  std::vector<Run> runs;
  std::vector<Run> open;
  for (const ScanFrame& frame : scan.frames) {
    const auto driven = driven_of(frame);
    if (!driven) continue;
    const auto closed =
        std::partition(open.begin(), open.end(), [&](const Run& r) { return frame.middle_s - r.frames.back().middle_s <= kBridge_s; });
    std::move(closed, open.end(), std::back_inserter(runs));
    open.erase(closed, open.end());
    const auto home = std::find_if(open.begin(), open.end(), [&](const Run& r) { return r.takes(frame, *driven); });
    if (home != open.end()) {
      home->frames.push_back(frame);
    } else {
      open.push_back({*driven, {frame}});
    }
  }
  std::move(open.begin(), open.end(), std::back_inserter(runs));
  std::vector<ToneStretch> stretches;
  for (const Run& run : put_together(std::move(runs))) {
    const ToneStretch stretch = stretch_of(run, scan.frame_step_s);
    const std::string why = why_none(run, stretch, scan.frame_step_s);
    if (why.empty()) {
      stretches.push_back(stretch);
    } else if (rejected != nullptr && stretch.end_s - stretch.start_s >= kWorthNaming_s) {
      rejected->push_back({stretch.start_s, stretch.end_s, stretch.frequency_hz, stretch.driven, why, 0});
    }
  }
  std::sort(stretches.begin(), stretches.end(), [](const auto& a, const auto& b) { return a.start_s < b.start_s; });
  for (std::size_t i = 1; i < stretches.size(); ++i) stretches[i].start_s = std::max(stretches[i].start_s, stretches[i - 1].end_s);
  std::erase_if(stretches, [](const ToneStretch& s) { return s.end_s - s.start_s < kShortest_s; });
  return stretches;
}

}  // namespace evenwall::internal::measure
