// SPDX-License-Identifier: GPL-3.0-or-later
// Samples of a capture whose header has passed the guard.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "audio/capture_layout.hpp"
#include "evenwall/model.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {

/// Decodes by libsndfile. Requires: no FLAC, frames known. The library is shown the samples of the layout only, never a header: what such a
/// header claims has been settled, and the library's own repairs do not come into play. Throws: Error(kInput) where the decoder refuses.
std::unique_ptr<AudioSource> decoded_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name);

}  // namespace evenwall::internal::audio
