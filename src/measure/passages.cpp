#include "measure/passages.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "numeric/robust_regression.hpp"

namespace evenwall {
namespace {

constexpr double kTonal = 0.5;           // share of the power that makes a frame a tone: 0 dB over everything else above 150 Hz
constexpr double kQuietest = 3e-4;       // −70 dBFS: below it quantisation and preamplifier noise are what one hears
constexpr double kDrivenAhead_db = 6.0;  // a worn-out cartridge still parts its channels by more than this
constexpr double kSamePitch = 0.015;     // wow of 0.6 % peak with flutter, both ways
constexpr double kBridge_s = 0.3;        // a click or dropout does not end a tone
constexpr double kShortest_s = 0.5;
constexpr double kOnPitchShare = 0.9;  // of a run's frames must lie within kSamePitch of its median
constexpr double kSteadyShare = 0.7;   // of the frames between first and last must be that tone

std::optional<Driven> driven_of(const ScanFrame& frame) {
  const double larger = std::max(frame.amplitude_left, frame.amplitude_right);
  if (frame.tonal_fraction < kTonal || larger < kQuietest) return std::nullopt;
  const double ahead = amplitude_ratio(kDrivenAhead_db);
  if (frame.amplitude_left > ahead * frame.amplitude_right) return Driven::kLeft;
  if (frame.amplitude_right > ahead * frame.amplitude_left) return Driven::kRight;
  return Driven::kBoth;
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
  for (const ScanFrame& frame : frames) values.push_back(frame.*member);
  return median(std::move(values));
}

/// A tone keeps its pitch; a sweep leaves it, however slowly.
bool keeps_pitch(const Run& run) {
  const double pitch_hz = median_of(run.frames, &ScanFrame::frequency_hz);
  const auto near = [&](const ScanFrame& f) { return std::abs(f.frequency_hz - pitch_hz) <= kSamePitch * pitch_hz; };
  return static_cast<double>(std::count_if(run.frames.begin(), run.frames.end(), near)) >=
         kOnPitchShare * static_cast<double>(run.frames.size());
}

std::optional<ToneStretch> stretch_of(const Run& run, double step_s) {
  if (!keeps_pitch(run)) return std::nullopt;
  const double start_s = run.frames.front().middle_s - 0.5 * step_s;
  const double end_s = run.frames.back().middle_s + 0.5 * step_s;
  if (end_s - start_s < kShortest_s) return std::nullopt;
  if (static_cast<double>(run.frames.size()) * step_s < kSteadyShare * (end_s - start_s)) return std::nullopt;
  return ToneStretch{run.driven,
                     start_s,
                     end_s,
                     median_of(run.frames, &ScanFrame::frequency_hz),
                     median_of(run.frames, &ScanFrame::amplitude_left),
                     median_of(run.frames, &ScanFrame::amplitude_right)};
}

}  // namespace

std::vector<ToneStretch> find_tones(const Scan& scan) {
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
  for (const Run& run : runs) {
    if (const auto stretch = stretch_of(run, scan.frame_step_s)) stretches.push_back(*stretch);
  }
  std::sort(stretches.begin(), stretches.end(), [](const auto& a, const auto& b) { return a.start_s < b.start_s; });
  for (std::size_t i = 1; i < stretches.size(); ++i) stretches[i].start_s = std::max(stretches[i].start_s, stretches[i - 1].end_s);
  std::erase_if(stretches, [](const ToneStretch& s) { return s.end_s - s.start_s < kShortest_s; });
  return stretches;
}

}  // namespace evenwall
