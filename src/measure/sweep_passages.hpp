// SPDX-License-Identifier: GPL-3.0-or-later
// Where a frequency sweep sounds, by what law, and which groove wall it drives.
#pragma once

#include <vector>

#include "measure/scan.hpp"

namespace evenwall::internal::measure {

/// Frequency against time, logarithmic or linear, up or down.
struct SweepLaw {
  bool logarithmic = true;
  double middle_s = 0;   ///< a moment within the sweep,
  double middle_hz = 0;  ///< the frequency then,
  double rate = 0;       ///< and its change: of ln f, or in Hz, per second

  [[nodiscard]] double frequency_hz(double time_s) const;
  /// Periods since middle_s.
  [[nodiscard]] double cycles(double time_s) const;
  /// When the law passes a frequency. Requires: frequency_hz > 0, rate ≠ 0.
  [[nodiscard]] double time_s(double frequency_hz) const;
};

/// A sweep as the scan sees it: the true ends lie at or beyond its own, since the scan is deaf below kLowestTone_hz.
struct SweepStretch {
  Driven driven = Driven::kBoth;
  SweepLaw law;
  double seen_start_s = 0;
  double seen_end_s = 0;
  double earliest_s = 0;  ///< where another sweep, the audio or the range of hearing ends
  double latest_s = 0;
};

/// Stretches of 2 s or more whose strongest line keeps to one law over an octave or more. In time order, never overlapping.
/// Source: docs/method.md, "Sweeps".
std::vector<SweepStretch> find_sweeps(const Scan& scan, double sample_rate_hz);

}  // namespace evenwall::internal::measure
