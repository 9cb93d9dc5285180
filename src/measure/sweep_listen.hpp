// SPDX-License-Identifier: GPL-3.0-or-later
// A sweep heard closely: the ratio of its channels in every one-third octave it passes.
#pragma once

#include "measure/sweep_passages.hpp"
#include "measure/third_octaves.hpp"

namespace evenwall::internal::measure {

/// Follows the sweep with the driven channel as phase reference, so that wow, noise and harmonics off the track do not count, and takes
/// out what goes once or twice a revolution. A response that bends as fast as that can't be told from it for sure: the doubt is in every
/// band's uncertainty.
/// Nothing where too little of it can be used.
/// Source: docs/method.md, "Sweeps".
std::optional<HeardBands> listen_to_sweep(AudioSource& source, const SweepStretch& stretch, double rpm);

}  // namespace evenwall::internal::measure
