// SPDX-License-Identifier: GPL-3.0-or-later
// Which frames of a passage count: those within its edges that hold nothing but the tone.
#pragma once

#include <optional>
#include <vector>

#include "measure/lock_in.hpp"
#include "measure/method_constants.hpp"
#include "measure/passages.hpp"

namespace evenwall::internal::measure {

/// The frames that count, in time order.
struct InnerFrames {
  std::vector<double> middle_s;
  std::vector<Complex> driven, quiet;
  double start_s = 0;
  double end_s = 0;
  double amplitude = 0;
  double lost_fraction = 0;
};

/// Edges are where the stretch's own tone, by driven channel and pitch, begins and ends to sound at half of the level around; frames in
/// between that are far off that level are left out. Requires: frames that reach little past the stretch, as the level around an edge is
/// the tone's. Nothing where fewer than kLeastFrames are left.
std::optional<InnerFrames> inner_frames(const LockInFrames& frames, const ToneStretch& stretch);

}  // namespace evenwall::internal::measure
