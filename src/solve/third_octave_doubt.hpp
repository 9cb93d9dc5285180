// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the uncertainty of crosstalk that varies within its third octave.
#pragma once

#include "evenwall/model.hpp"
#include "solve/electronics.hpp"
#include "solve/observations.hpp"

namespace evenwall::internal::solve {

/// A sweep or noise shows the mean over a third octave of a channel's ratio, which is gain ratio times crosstalk. Dividing it by the mean
/// gain ratio leaves an error if both vary within the third octave:
///
///     mean(g x)/mean(g) − mean(x) = cov(g, x)/mean(g) ,    |cov(g, x)| ≤ s_g s_x
///
/// s_x follows from the differences d to the third octaves on both sides, d²/12 for a straight course, and s_g is kGainCourse of the gain
/// ratio. The same at every step. Zero for tones, and if neither side was measured. Source: docs/method.md, "Third octaves and
/// combination".
OffsetDoubt third_octave_doubt(const Session& session, const Observations& observations);

}  // namespace evenwall::internal::solve
