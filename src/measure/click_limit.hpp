// SPDX-License-Identifier: GPL-3.0-or-later
// Limits the clicks in a short frame of audio, so that a tone beneath them can be found.
#pragma once

#include <vector>

namespace evenwall::internal::measure {

/// Limits each channel of interleaved stereo samples to four times its median magnitude about its own median. The peak of a sine is 1.41
/// times its median magnitude, so that a sine is never changed. The medians are those of at most 512 samples (accuracy: 6 % of a standard
/// deviation of noise), taken at irregular distances, so that no frequency coincides with them.
/// Returns the mean square of what was removed, summed over both channels; 0 if no sample was changed.
double limit_clicks(std::vector<float>& block);

/// Whether a frame whose strongest line has the share `tonal` of its power may pass one of the scan's thresholds once its clicks are
/// limited. power, removed: mean squares of the frame and of what was removed, both channels together.
bool may_hide_a_tone(double tonal, double power, double removed);

}  // namespace evenwall::internal::measure
