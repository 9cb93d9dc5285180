// SPDX-License-Identifier: GPL-3.0-or-later
// Measures a noise passage: the ratio of its channels in every one-third octave that it fills.
#pragma once

#include "measure/noise_passages.hpp"
#include "measure/third_octaves.hpp"

namespace evenwall::internal::measure {

/// Fits H = S_qd/S_dd over Hann frames in each band, together with the terms of the revolution as for tones. q is the undriven channel,
/// d the driven one. Returns nothing if too little of the passage can be used.
/// Source: docs/method.md, "Noise bands".
std::optional<HeardBands> listen_to_noise(AudioSource& source, const NoiseStretch& stretch, double rpm);

}  // namespace evenwall::internal::measure
