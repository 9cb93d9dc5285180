// SPDX-License-Identifier: GPL-3.0-or-later
// Scans a whole capture coarsely: whether a tone sounds, at what time, and how loud it is in each channel.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "evenwall/model.hpp"
#include "measure/method_constants.hpp"
#include "measure/octave_scan.hpp"

namespace evenwall::internal::measure {

/// The strongest line in one short frame of audio.
struct ScanFrame {  // single precision, because a day of frames is held in memory
  double middle_s = 0;
  float frequency_hz = 0;    ///< strongest line above kLowestTone_hz
  float amplitude_left = 0;  ///< of that line, full scale = 1
  float amplitude_right = 0;
  float tonal_fraction = 0;  ///< share of the power above kLowestTone_hz that the line holds
};

struct Scan {
  std::vector<ScanFrame> frames;  ///< every frame_step_s, from the start of the stretch
  double frame_step_s = 0;
  double end_s = 0;                ///< end of the audio or of the requested stretch
  bool channels_identical = true;  ///< bit for bit, in every frame that was analysed
  double largest_sample = 0;
  std::int64_t samples_not_finite = 0;  ///< in the frames that were analysed
};

/// Called with each frame and its octaves during the scan. The octaves are zero if a sample of the frame is not a finite number or if a
/// tone is much louder than everything else.
using FrameListener = std::function<void(const ScanFrame& frame, const OctaveFrame& octaves)>;

/// Number of looks in a scan of the whole source, at most those of a day; callers reserve memory for so many.
std::size_t most_looks(const AudioSource& source);

/// Time from one frame to the next.
double scan_step_s(double sample_rate_hz);

/// Analyses every fifth frame. The frames between two of these are analysed too, unless both hold the same clear tone or both are equally
/// quiet: whatever fits between them (0.21 s) cannot be distinguished from a click or dropout. Frames that are not analysed are
/// interpolated between the two.
///
/// Throws: Error(kInput) if the source fails.
Scan scan(AudioSource& source, OptionalNumber from_s, OptionalNumber to_s, const FrameListener& also = {});

}  // namespace evenwall::internal::measure
