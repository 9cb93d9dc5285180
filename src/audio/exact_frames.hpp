// SPDX-License-Identifier: GPL-3.0-or-later
// Converts the samples of a file to the exact form that is hashed.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "audio/capture_layout.hpp"
#include "audio/sample_file.hpp"

namespace evenwall::internal::audio {

/// Samples as a file holds them -> exact samples (exact_source.hpp). Cost: one pass over the bytes.
/// Requires: not FLAC. bytes: count samples of this format and byte order. out: count samples of 8 bytes for kFloat64, otherwise of 4.
void exact_samples(const std::uint8_t* bytes, std::size_t count, SampleFormat samples, ByteOrder order, std::uint8_t* out);

/// The same for decoded integers: value/2^(bits−1), with at most 24 bits, so that single precision holds them exactly. The upper bits of a
/// value beyond full scale are lost; only a malformed stream decodes to such values. out: 4·count.
void exact_integers(const float* samples, std::size_t count, std::uint8_t* out);

/// Reads exact frames from a file whose samples are not compressed.
class ExactFrames {
 public:
  /// Requires: not FLAC, and the number of frames is known.
  explicit ExactFrames(const CaptureLayout& layout);

  [[nodiscard]] std::size_t sample_bytes() const { return samples_ == SampleFormat::kFloat64 ? 8 : 4; }
  /// Reads up to `count` frames from `first` on. Returns the number of frames read, which is less only at the end.
  /// Throws: Error(kInput) if the medium fails, or if the file has become longer or shorter.
  std::int64_t read(SampleFile& file, std::int64_t first, std::int64_t count, std::uint8_t* out);

 private:
  SampleFormat samples_;
  ByteOrder order_;
  std::int64_t offset_, frame_bytes_, frames_;
  std::vector<std::uint8_t> raw_;
};

}  // namespace evenwall::internal::audio
