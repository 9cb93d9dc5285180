// SPDX-License-Identifier: GPL-3.0-or-later
// Samples of a capture that need no decoder: 16- and 24-bit integers, 32-bit floats, little-endian.
#pragma once

#include <memory>
#include <string>

#include "audio/capture_layout.hpp"
#include "evenwall/model.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {

/// Whether unpacked_source() can read it; everything else is for decoded_source().
bool needs_no_decoder(const CaptureLayout& layout);

/// Any stretch is as cheap as any other: nothing but it is read. The bits are those that libsndfile gives (tests/unit/audio).
/// Requires: needs_no_decoder(layout). Throws: Error(kInput) where the file's state can't be had.
std::unique_ptr<AudioSource> unpacked_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name);

}  // namespace evenwall::internal::audio
