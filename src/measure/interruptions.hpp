// SPDX-License-Identifier: GPL-3.0-or-later
// What a recorder does to a tone when it can't keep up: digital silence in its middle, samples lost, a buffer written twice.
#pragma once

#include <cassert>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <vector>

#include "evenwall/model.hpp"
#include "measure/lock_in.hpp"

namespace evenwall::internal::measure {

/// The angle in [−π, π].
inline double wrapped(double rad) { return std::abs(rad) <= std::numbers::pi ? rad : std::remainder(rad, 2.0 * std::numbers::pi); }

/// Runs of exact zeros in both channels at once, found while the samples stream by.
class SilentRuns {
 public:
  struct Run {
    std::int64_t first;
    std::int64_t frames;
  };

  /// least_frames: shorter runs are none. Requires: least_frames > 0.
  explicit SilentRuns(std::int64_t least_frames) : least_frames_(least_frames) { assert(least_frames > 0); }

  /// Interleaved stereo; `first` is where the block lies. Blocks come in order, and may overlap.
  void add(std::int64_t first, const float* block, std::int64_t frames);
  /// Those that came to an end, the first thousand of them: one that lasts to the end of the capture interrupts nothing.
  [[nodiscard]] const std::vector<Run>& runs() const { return runs_; }

 private:
  void end_run(std::int64_t at);

  std::int64_t least_frames_;
  std::int64_t next_ = 0;
  std::int64_t run_ = 0;
  std::vector<Run> runs_;
};

/// The shortest digital silence that no sound tone holds: 0.4 ms, and a quarter of its period (one as small as a step is zero for a sixth).
std::int64_t least_silence_frames(double sample_rate_hz, double frequency_hz);

/// From and to, seconds, of the runs between the ends of a passage.
std::vector<Interval> silences_between(const std::vector<SilentRuns::Run>& runs, double sample_rate_hz, double start_s, double end_s);

struct PhaseJump {
  double at_s = 0;
  double by_rad = 0;
};

/// Where the phase of a tone jumps for good: samples lost or written twice. Wow, flutter, clicks and gaps are none.
///
/// amplitude: of frames four hops long that follow each other every hop_s, the first at first_middle_s. A jump of whole periods can't be
/// seen, nor one within 12 hops of an end or of frames outside of half to one and a half times the median, but for those that it spoils
/// itself. Accuracy: where to 15 ms, by how much to what the speed drifts in 0.1 s (tests/unit/measure).
std::vector<PhaseJump> phase_jumps(const std::vector<Complex>& amplitude, double first_middle_s, double hop_s);

/// Those of the driven channel between the ends of a passage.
std::vector<PhaseJump> jumps_between(const LockInFrames& frames, Driven driven, double start_s, double end_s);

}  // namespace evenwall::internal::measure
