// SPDX-License-Identifier: GPL-3.0-or-later
// The samples behind a header that has passed the guard, by whichever way reads them.
#pragma once

#include <memory>
#include <string>

#include "audio/capture_layout.hpp"
#include "evenwall/model.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {

/// Throws: Error(kInput) as flac_source, unpacked_source and decoded_source.
std::unique_ptr<AudioSource> capture_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name);

}  // namespace evenwall::internal::audio
