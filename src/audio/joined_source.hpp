// SPDX-License-Identifier: GPL-3.0-or-later
// Plays two recordings one after the other, as one.
#pragma once

#include <memory>

#include "evenwall/model.hpp"

namespace evenwall::internal::audio {

/// A stretch of a recording. An absent limit is the start or the end of the recording.
struct SourceStretch {
  std::unique_ptr<AudioSource> audio;
  OptionalNumber from_s, to_s;
};

/// The first stretch, half a second of silence, and the second stretch. Without the silence, a tone could cross the joint.
/// Throws: Error(kInput) if the sample rates differ.
std::unique_ptr<AudioSource> joined_source(SourceStretch first, SourceStretch second);

}  // namespace evenwall::internal::audio
