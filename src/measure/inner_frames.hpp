// SPDX-License-Identifier: GPL-3.0-or-later
// Selects the frames of a passage that are used: those within its edges that contain nothing but the tone.
#pragma once

#include <optional>
#include <vector>

#include "measure/lock_in.hpp"
#include "measure/method_constants.hpp"
#include "measure/passages.hpp"

namespace evenwall::internal::measure {

/// The frames that are used, in time order.
struct InnerFrames {
  std::vector<double> middle_s;
  std::vector<Complex> driven, quiet;
  double start_s = 0;
  double end_s = 0;
  double amplitude = 0;
  double lost_fraction = 0;
};

/// The edges are where the stretch's own tone (its driven channel and pitch) reaches half of the level around. Frames in between are
/// excluded if their level is far from it. Empty if fewer than kLeastFrames remain. Requires: frames that extend only a little
/// beyond the stretch, because the level around an edge must be that of the tone.
std::optional<InnerFrames> inner_frames(const LockInFrames& frames, const ToneStretch& stretch);

}  // namespace evenwall::internal::measure
