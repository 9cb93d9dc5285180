// SPDX-License-Identifier: GPL-3.0-or-later
// What of a followed sweep can be used, put together to rows of a fit.
#pragma once

#include <optional>
#include <vector>

#include "measure/method_constants.hpp"
#include "measure/sweep_track.hpp"

namespace evenwall::internal::measure {

double driven_size(const TrackFrame& frame, Driven driven);

/// Frames between the edges, whole windows only.
struct Inside {
  std::vector<TrackFrame> frames;
  double start_s = 0, end_s = 0;
  double start_hz = 0, end_hz = 0;
};

/// Nothing where too little sounds.
std::optional<Inside> inside_of(std::vector<TrackFrame> frames, const SweepStretch& stretch);

/// One row of the fit: frames of about one window's time, least squares of quiet over driven channel within.
struct Cells {
  std::vector<double> time_s, ln_f, ln_level;  ///< ln_f as played, ln_level of the driven channel's amplitude
  std::vector<double> noise;                   ///< its size by what sounds beside the track, over that of the middle row: it has a colour
  std::vector<double> reference;
  std::vector<Complex> response;
  double lost_fraction = 0;
};

Cells cells_of(const Inside& inside, const SweepLaw& law, Driven driven);

/// The law as the driven channel's own phase tells it. The scan knows a linear sweep to some 20 Hz, too little where it starts at 40 Hz.
SweepLaw refined(const SweepLaw& law, const Track& track, const SweepStretch& stretch);

}  // namespace evenwall::internal::measure
