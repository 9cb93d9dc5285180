// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the samples of a capture with libsndfile, after its header has been checked.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "audio/capture_layout.hpp"
#include "evenwall/model.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {

/// Decodes with libsndfile. Requires: the format is not FLAC, and the number of frames is known. The library gets only the samples of the
/// layout, never a header: the header's claims have been settled, and the library's own repairs must have no effect. Throws:
/// Error(kInput) if the decoder refuses the samples.
std::unique_ptr<AudioSource> decoded_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name);

}  // namespace evenwall::internal::audio
