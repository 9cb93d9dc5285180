// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the faults of a recorder that cannot keep up: digital silence within a tone, lost samples, and buffers written twice.
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

/// Finds runs of exact zeros in both channels at once, while the samples are read block by block.
class SilentRuns {
 public:
  struct Run {
    std::int64_t first;
    std::int64_t frames;
  };

  /// least_frames: shorter runs are ignored. Requires: least_frames > 0.
  explicit SilentRuns(std::int64_t least_frames) : least_frames_(least_frames) { assert(least_frames > 0); }

  /// block: interleaved stereo samples. first: position of the block, in stereo frames. Blocks come in order and may overlap.
  void add(std::int64_t first, const float* block, std::int64_t frames);
  /// The first thousand runs that have ended. A run that lasts to the end of the capture is not listed: it does not interrupt a tone.
  [[nodiscard]] const std::vector<Run>& runs() const { return runs_; }

 private:
  void end_run(std::int64_t at);

  std::int64_t least_frames_;
  std::int64_t next_ = 0;
  std::int64_t run_ = 0;
  std::vector<Run> runs_;
};

/// Length of the shortest digital silence that an intact tone cannot contain: at least 0.4 ms and at least a quarter of its period (a tone
/// with an amplitude of one step is zero for a sixth of its period).
std::int64_t least_silence_frames(double sample_rate_hz, double frequency_hz);

/// Start and end, in seconds, of each run that lies between the ends of a passage.
std::vector<Interval> silences_between(const std::vector<SilentRuns::Run>& runs, double sample_rate_hz, double start_s, double end_s);

struct PhaseJump {
  double at_s = 0;
  double by_rad = 0;
};

/// Finds lasting jumps in the phase of a tone, which lost or repeated samples cause. Wow, flutter, clicks and gaps do not count as jumps.
///
/// amplitude: one value per frame of four hops, one frame every hop_s, the middle of the first at first_middle_s. A jump of whole periods
/// is not found. A jump is not found either within 12 hops of an end, or within 12 hops of a frame whose magnitude lies outside 0.5 to 1.5
/// times the median, unless the jump itself spoils that frame.
/// Accuracy: 15 ms in time; in phase, the drift of the speed within 0.1 s (tests/unit/measure).
std::vector<PhaseJump> phase_jumps(const std::vector<Complex>& amplitude, double first_middle_s, double hop_s);

/// Phase jumps of the driven channel between the ends of a passage.
std::vector<PhaseJump> jumps_between(const LockInFrames& frames, Driven driven, double start_s, double end_s);

}  // namespace evenwall::internal::measure
