// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/capture_source.hpp"

#include "audio/decoded_source.hpp"
#include "audio/flac_source.hpp"
#include "audio/unpacked_source.hpp"

namespace evenwall::internal::audio {

std::unique_ptr<AudioSource> capture_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name) {
  if (layout.samples == SampleFormat::kFlac) return flac_source(std::move(file), layout, name);
  if (needs_no_decoder(layout)) return unpacked_source(std::move(file), layout, name);
  return decoded_source(std::move(file), layout, name);
}

}  // namespace evenwall::internal::audio
