// SPDX-License-Identifier: GPL-3.0-or-later
// A noise passage heard closely: the ratio of its channels in every one-third octave it fills.
#pragma once

#include "measure/noise_passages.hpp"
#include "measure/third_octaves.hpp"

namespace evenwall::internal::measure {

/// H = S_qd/S_dd over Hann frames, band by band, with the terms of the revolution fitted beside it as for tones.
/// Nothing where too little of it can be used.
/// Source: docs/method.md, "Noise".
std::optional<HeardBands> listen_to_noise(AudioSource& source, const NoiseStretch& stretch, double rpm);

}  // namespace evenwall::internal::measure
