// SPDX-License-Identifier: GPL-3.0-or-later
// Samples of a FLAC stream whose header has passed the guard.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "audio/capture_layout.hpp"
#include "evenwall/model.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {

/// Decodes by libFLAC, which checks each frame's checksum; the stream's own (MD5) is not asked. What was decoded last stays at hand, 20 s
/// and more of it at 96 kHz: a passage is listened to once its end is known, without decoding it again. Throws: Error(kInput) where the
/// decoder refuses, or a stream of unknown length is damaged.
std::unique_ptr<AudioSource> flac_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name);

}  // namespace evenwall::internal::audio
