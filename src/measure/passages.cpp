// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/passages.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "measure/method_constants.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

std::optional<Driven> driven_of(const ScanFrame& frame) {
  const double larger = std::max(frame.amplitude_left, frame.amplitude_right);
  if (frame.tonal_fraction < kTonal || larger < kQuietestTone) return std::nullopt;
  return driven_by(frame.amplitude_left, frame.amplitude_right);
}

/// A run of frames that is still growing.
struct ToneRun {
  Driven driven;
  std::vector<ScanFrame> frames;

  [[nodiscard]] bool takes(const ScanFrame& frame, Driven its_driven) const {
    const double last_hz = frames.back().frequency_hz;
    return its_driven == driven && frame.middle_s - frames.back().middle_s <= kToneBridge_s &&
           std::abs(frame.frequency_hz - last_hz) <= kSamePitch * last_hz;
  }
};

template <typename Member>
double median_of(const std::vector<ScanFrame>& frames, Member member) {
  std::vector<double> values;
  for (const ScanFrame& frame : frames) values.push_back(static_cast<double>(frame.*member));
  return numeric::median(std::move(values));
}

/// Whether the run keeps its pitch; a sweep leaves it, even if slowly.
bool keeps_pitch(const ToneRun& run) {
  const double pitch_hz = median_of(run.frames, &ScanFrame::frequency_hz);
  const auto near = [&](const ScanFrame& f) { return std::abs(f.frequency_hz - pitch_hz) <= kSamePitch * pitch_hz; };
  return static_cast<double>(std::count_if(run.frames.begin(), run.frames.end(), near)) >=
         kOnPitchShare * static_cast<double>(run.frames.size());
}

/// Joins runs with the same pitch and driven channel, because a dropout or click that shifts the pitch of a frame can divide a tone.
std::vector<ToneRun> put_together(std::vector<ToneRun> runs) {
  std::sort(runs.begin(), runs.end(),
            [](const ToneRun& a, const ToneRun& b) { return a.frames.front().middle_s < b.frames.front().middle_s; });
  std::vector<ToneRun> whole;
  for (ToneRun& run : runs) {
    if (run.frames.size() < kFewestToneFrames) continue;
    const double pitch_hz = median_of(run.frames, &ScanFrame::frequency_hz);
    const auto earlier = std::find_if(whole.begin(), whole.end(), [&](const ToneRun& w) {
      return w.driven == run.driven && run.frames.front().middle_s - w.frames.back().middle_s <= kToneBridge_s &&
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

ToneStretch stretch_of(const ToneRun& run, double step_s) {
  return {run.driven, run.frames.front().middle_s - 0.5 * step_s, run.frames.back().middle_s + 0.5 * step_s,
          // Rounded to a grid, so that differences in single precision between processors do not reach the oscillator.
          kToneGrid_hz * std::round(median_of(run.frames, &ScanFrame::frequency_hz) / kToneGrid_hz)};
}

/// Reason why a run is not a tone, as a text for the user. Empty if it may be a tone.
std::string why_none(const ToneRun& run, const ToneStretch& stretch, double step_s) {
  const double length_s = stretch.end_s - stretch.start_s;
  if (length_s < kToneShortest_s) return fmt::format("it lasts only {:.2f} s; a passage lasts {:.1f} s or more", length_s, kToneShortest_s);
  if (!keeps_pitch(run)) return "its pitch moves, as in speech, music or a sweep";
  const double share = static_cast<double>(run.frames.size()) * step_s / length_s;
  if (share < kSteadyShare) return fmt::format("the pitch sounds in only {:.0f} % of it", 100 * share);
  return "";
}

}  // namespace

Driven driven_by(double amplitude_left, double amplitude_right) {
  static const double ahead = amplitude_ratio(kToneDrivenAhead_db);
  if (amplitude_left > ahead * amplitude_right) return Driven::kLeft;
  if (amplitude_right > ahead * amplitude_left) return Driven::kRight;
  return Driven::kBoth;
}

bool may_be_tone(const ScanFrame& frame) { return driven_of(frame).has_value(); }

std::vector<ToneStretch> find_tones(const Scan& scan, std::vector<RejectedStretch>* rejected) {
  // Several runs may be open at once, because a click frame between two tone frames starts its own run and must not end theirs.
  std::vector<ToneRun> runs;
  std::vector<ToneRun> open;
  for (const ScanFrame& frame : scan.frames) {
    const auto driven = driven_of(frame);
    if (!driven) continue;
    const auto closed = std::partition(open.begin(), open.end(),
                                       [&](const ToneRun& r) { return frame.middle_s - r.frames.back().middle_s <= kToneBridge_s; });
    std::move(closed, open.end(), std::back_inserter(runs));
    open.erase(closed, open.end());
    const auto home = std::find_if(open.begin(), open.end(), [&](const ToneRun& r) { return r.takes(frame, *driven); });
    if (home != open.end()) {
      home->frames.push_back(frame);
    } else {
      open.push_back({*driven, {frame}});
    }
  }
  std::move(open.begin(), open.end(), std::back_inserter(runs));
  std::vector<ToneStretch> stretches;
  for (const ToneRun& run : put_together(std::move(runs))) {
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
  std::erase_if(stretches, [](const ToneStretch& s) { return s.end_s - s.start_s < kToneShortest_s; });
  return stretches;
}

}  // namespace evenwall::internal::measure
