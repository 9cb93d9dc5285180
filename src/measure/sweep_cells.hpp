// SPDX-License-Identifier: GPL-3.0-or-later
// Combines the usable frames of a tracked sweep into the rows of a fit.
#pragma once

#include <optional>
#include <vector>

#include "measure/method_constants.hpp"
#include "measure/sweep_track.hpp"

namespace evenwall::internal::measure {

double driven_size(const TrackFrame& frame, Driven driven);

/// The frames whose windows lie wholly between the edges of the sweep.
struct Inside {
  std::vector<TrackFrame> frames;
  double start_s = 0, end_s = 0;
  double start_hz = 0, end_hz = 0;
};

/// Nothing if too little of the sweep can be heard.
std::optional<Inside> inside_of(std::vector<TrackFrame> frames, const SweepStretch& stretch);

/// The rows of the fit. Each combines the frames of about one window's length by least squares of undriven over driven channel.
struct Cells {
  std::vector<double> time_s, ln_f, ln_level;  ///< ln_f as played, ln_level of the driven channel's amplitude
  std::vector<double> noise;                   ///< magnitude beside the track, over that of the median row; it varies with frequency
  std::vector<double> reference;
  std::vector<Complex> response;
  double lost_fraction = 0;
};

Cells cells_of(const Inside& inside, const SweepLaw& law, Driven driven);

/// Corrects the law by the driven channel's phase. The scan finds a linear sweep within about 20 Hz, too coarse for one that starts at 40
/// Hz.
SweepLaw refined(const SweepLaw& law, const Track& track, const SweepStretch& stretch);

}  // namespace evenwall::internal::measure
