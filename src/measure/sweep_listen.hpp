// SPDX-License-Identifier: GPL-3.0-or-later
// Measures a sweep: the ratio of its channels in every one-third octave that it passes.
#pragma once

#include "measure/sweep_passages.hpp"
#include "measure/third_octaves.hpp"

namespace evenwall::internal::measure {

/// Tracks the sweep with the driven channel as phase reference, so that wow, and noise and harmonics off the track, have no effect.
/// Subtracts the first eight harmonics of the revolution. A response that bends as fast as those cannot be distinguished from them with
/// certainty; this is part of every band's uncertainty. Nothing if too little of the sweep can be used. Source: docs/method.md, "Sweeps".
std::optional<HeardBands> listen_to_sweep(AudioSource& source, const SweepStretch& stretch, double rpm);

}  // namespace evenwall::internal::measure
