// SPDX-License-Identifier: GPL-3.0-or-later
// Detects that one channel lost or doubled a sample; from there on left and right have exchanged their places in the file.
#pragma once

#include <vector>

#include "measure/inner_frames.hpp"
#include "measure/listen.hpp"

namespace evenwall::internal::measure {

/// Time at which the delay between the channels of a both-channel tone jumps by one sample, with or without an exchange of the channels.
/// Nothing if there is no such jump.
///
/// Means of the phase between the channels over 0.34 s on both sides of a frame are compared. A jump counts if it is one sample within a
/// quarter, is more than eight times its standard uncertainty, and happens within two frames. Cost: a few operations per frame.
OptionalNumber delay_jump_s(const InnerFrames& inner, double frequency_hz, double sample_rate_hz);

struct ChannelSlip {
  double passage_start_s = 0;
  double at_s = 0;
};

/// Times at which a one-channel tone changes to the other channel from one sample to the next, with the same phase, level and crosstalk. No
/// groove does that, because its crosstalk differs from wall to wall. The jumps of delay in the passages are included.
/// passages: tones in time order. Throws: Error(kInput) if the source fails.
std::vector<ChannelSlip> channel_slips(AudioSource& source, const std::vector<HeardPassage>& passages);

Warnings slip_warnings(const std::vector<ChannelSlip>& slips);

}  // namespace evenwall::internal::measure
