// SPDX-License-Identifier: GPL-3.0-or-later
// The cheap look everywhere: is a tone sounding, where, how loud in each channel.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "evenwall/model.hpp"
#include "measure/method_constants.hpp"
#include "measure/octave_scan.hpp"

namespace evenwall::internal::measure {

/// What one short stretch of audio holds.
struct ScanFrame {  // single precision: a day of them stands in memory
  double middle_s = 0;
  float frequency_hz = 0;    ///< strongest line above kLowestTone_hz
  float amplitude_left = 0;  ///< of that line, full scale = 1
  float amplitude_right = 0;
  float tonal_fraction = 0;  ///< share of the power above kLowestTone_hz that the line holds
};

struct Scan {
  std::vector<ScanFrame> frames;  ///< every frame_step_s, from the start of the stretch
  double frame_step_s = 0;
  double end_s = 0;                ///< where the audio (or the stretch asked for) ended
  bool channels_identical = true;  ///< bit for bit, in every frame looked at
  double largest_sample = 0;
  std::int64_t samples_not_finite = 0;  ///< in the frames looked at
};

/// Hears each frame as the scan goes, and its octaves; they are silent where a sample of it is not a finite number, or where
/// a tone outshines all else.
using FrameListener = std::function<void(const ScanFrame& frame, const OctaveFrame& octaves)>;

/// Looks that a scan of the whole takes, and no more than a day's worth: for how many to make room.
std::size_t most_looks(const AudioSource& source);

/// From one frame to the next.
double scan_step_s(double sample_rate_hz);

/// Looks at every fifth frame, and between two of them only where they differ or hold something that may change: between two frames of the
/// same clear tone, or of the same quiet, nothing lasts long enough (0.21 s) to be told from a click or dropout. Frames not looked at are
/// put between their neighbours.
///
/// Throws: Error(kInput) where the source fails.
Scan scan(AudioSource& source, OptionalNumber from_s, OptionalNumber to_s, const FrameListener& also = {});

}  // namespace evenwall::internal::measure
