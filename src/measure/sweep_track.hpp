// SPDX-License-Identifier: GPL-3.0-or-later
// Both channels followed along a sweep: complex amplitudes against its law, in windows as long as the frequency asks for.
#pragma once

#include <vector>

#include "measure/sample_faults.hpp"
#include "measure/sweep_passages.hpp"

namespace evenwall::internal::measure {

struct TrackFrame {
  double middle_s = 0;
  double frequency_hz = 0;  ///< of the law there
  double length_s = 0;      ///< of the Hann window
  double hop_s = 0;         ///< to the next one: a quarter of it, more in a long sweep
  Complex left, right;      ///< amplitude (full scale = 1) and phase against the law's own
  double beside_power = 0;  ///< |amplitude|² of what both channels hold 1.5 times as high: noise, neither track nor harmonic
};

struct Track {
  std::vector<TrackFrame> frames;  ///< in time order, some 60,000 at most
  SampleFaults left, right;
};

/// Length of the window at a frequency: eight periods, so that harmonics and the mirror image stay out, and no longer than a stray of
/// 1.5 % and 30 Hz from the law allows.
double track_window_s(double frequency_hz);

/// Reads forward once. A frame with a sample that is not a finite number is zero.
Track follow(AudioSource& source, const SweepLaw& law, double from_s, double to_s);

}  // namespace evenwall::internal::measure
