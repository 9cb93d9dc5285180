// SPDX-License-Identifier: GPL-3.0-or-later
// A sample lost or doubled in one channel only: from there on left and right have exchanged their places in the file.
#pragma once

#include <vector>

#include "measure/inner_frames.hpp"
#include "measure/listen.hpp"

namespace evenwall::internal::measure {

/// Where a both-channel tone's delay between the channels jumps by one sample, or the channels exchange it; nothing if it does not.
///
/// Means of the phase between the channels over 0.34 s on both sides of a frame are compared. A jump counts if it is one sample within a
/// quarter, stands out of the scatter eightfold, and happens within two frames. Cost: a few operations a frame.
OptionalNumber delay_jump_s(const InnerFrames& inner, double frequency_hz, double sample_rate_hz);

struct ChannelSlip {
  double passage_start_s = 0;
  double at_s = 0;
};

/// Where a one-channel tone leaves its channel from one sample to the next and goes on in the other one, with the same phase, level and
/// crosstalk: no groove does that, as its crosstalk differs from wall to wall. Also the jumps of delay that the passages hold.
/// passages: tones in time order. Throws: Error(kInput) if the source fails.
std::vector<ChannelSlip> channel_slips(AudioSource& source, const std::vector<HeardPassage>& passages);

Warnings slip_warnings(const std::vector<ChannelSlip>& slips);

}  // namespace evenwall::internal::measure
