// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the samples of a FLAC stream after its header has been checked.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "audio/capture_layout.hpp"
#include "evenwall/model.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {

/// Decodes with libFLAC, which checks each frame's checksum; the checksum of the whole stream (MD5) is not checked. The frames decoded
/// last are kept, 20 s and more at 96 kHz and 44 bits a frame, so that a passage can be measured once its end is known, without decoding
/// it again. Throws: Error(kInput) if the decoder refuses the stream, or if a stream of unknown length is damaged.
std::unique_ptr<AudioSource> flac_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name);

}  // namespace evenwall::internal::audio
