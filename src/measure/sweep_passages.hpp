// SPDX-License-Identifier: GPL-3.0-or-later
// Finds frequency sweeps: their time, their law, and the groove wall that each of them drives.
#pragma once

#include <vector>

#include "measure/scan.hpp"

namespace evenwall::internal::measure {

/// Frequency as a function of time, logarithmic or linear, rising or falling.
struct SweepLaw {
  bool logarithmic = true;
  double middle_s = 0;   ///< a moment within the sweep
  double middle_hz = 0;  ///< the frequency at that moment
  double rate = 0;       ///< change per second of ln f (logarithmic) or of f in Hz (linear)

  [[nodiscard]] double frequency_hz(double time_s) const;
  /// Number of periods since middle_s.
  [[nodiscard]] double cycles(double time_s) const;
  /// Time at which the law passes a frequency. Requires: frequency_hz > 0, rate ≠ 0.
  [[nodiscard]] double time_s(double frequency_hz) const;
};

/// A sweep as the scan finds it. The sweep may begin earlier and end later, because the scan detects nothing below kLowestTone_hz.
struct SweepStretch {
  Driven driven = Driven::kBoth;
  SweepLaw law;
  double seen_start_s = 0;
  double seen_end_s = 0;
  double earliest_s = 0;  ///< limit set by another sweep, the ends of the audio or the frequency range
  double latest_s = 0;
};

/// Finds stretches of 2 s or more with a strongest line that keeps to one law over an octave or more. In time order, never overlapping.
/// Source: docs/method.md, "Sweeps".
std::vector<SweepStretch> find_sweeps(const Scan& scan, double sample_rate_hz);

}  // namespace evenwall::internal::measure
