// SPDX-License-Identifier: GPL-3.0-or-later
// Chooses the source that reads the samples of a capture with a checked header.
#pragma once

#include <memory>
#include <string>

#include "audio/capture_layout.hpp"
#include "evenwall/model.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {

/// Throws: Error(kInput) as flac_source, unpacked_source and decoded_source do.
std::unique_ptr<AudioSource> capture_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name);

}  // namespace evenwall::internal::audio
