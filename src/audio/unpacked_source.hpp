// SPDX-License-Identifier: GPL-3.0-or-later
// Reads samples of a capture that need no decoder: 16- and 24-bit integers and 32-bit floats, little-endian.
#pragma once

#include <memory>
#include <string>

#include "audio/capture_layout.hpp"
#include "evenwall/model.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {

/// Whether unpacked_source() can read it; decoded_source() reads everything else but FLAC.
bool needs_no_decoder(const CaptureLayout& layout);

/// Every stretch costs the same to read: nothing before it is read. The samples are bit for bit those of libsndfile (tests/unit/audio).
/// Requires: needs_no_decoder(layout). Throws: Error(kInput) if the file's state cannot be read.
std::unique_ptr<AudioSource> unpacked_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name);

}  // namespace evenwall::internal::audio
