// SPDX-License-Identifier: GPL-3.0-or-later
// Tracks both channels along a sweep: complex amplitudes relative to its law, in windows with a length that depends on the frequency.
#pragma once

#include <vector>

#include "measure/sample_faults.hpp"
#include "measure/sweep_passages.hpp"

namespace evenwall::internal::measure {

struct TrackFrame {
  double middle_s = 0;
  double frequency_hz = 0;  ///< of the law at middle_s
  double length_s = 0;      ///< of the Hann window
  double hop_s = 0;         ///< to the next frame; a quarter of the window, more in a long sweep
  Complex left, right;      ///< amplitude (full scale = 1) and phase relative to the law's
  double beside_power = 0;  ///< |amplitude|² of both channels at 1.5 times the frequency, where only noise lies, neither track nor harmonic
};

struct Track {
  std::vector<TrackFrame> frames;  ///< in time order, about 60,000 at most
  SampleFaults left, right;
};

/// Length of the window at a frequency: the longer of eight periods, which suppress harmonics and the mirror image, and of the length that
/// passes a deviation of 1.5 % plus 30 Hz from the law.
double track_window_s(double frequency_hz);

/// Reads the source forward once. The amplitudes of a frame are zero if one of its samples is not a finite number.
Track follow(AudioSource& source, const SweepLaw& law, double from_s, double to_s);

}  // namespace evenwall::internal::measure
