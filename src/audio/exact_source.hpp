// SPDX-License-Identifier: GPL-3.0-or-later
// Declares the interface to the samples of a recording as its file holds them, without rounding to 32-bit floats.
#pragma once

#include <cstddef>
#include <cstdint>

#include "evenwall/model.hpp"

namespace evenwall::internal::audio {

/// A source that also gives its samples exactly: integers as 32-bit integers, left-justified, and floats as they are. All are
/// little-endian. Source: docs/formats.md, "SHA-256 of the frames".
class ExactSource : public AudioSource {
 public:
  /// 8 for 64-bit floats, otherwise 4.
  [[nodiscard]] virtual std::size_t exact_sample_bytes() const = 0;
  /// As read(), but gives exact samples. out: 2·count·exact_sample_bytes().
  virtual std::int64_t read_exact(std::int64_t first, std::int64_t count, std::uint8_t* out) = 0;
  /// Throws: Error(kInput) if the file is not as it was when it was opened.
  virtual void require_same_file() const = 0;
};

}  // namespace evenwall::internal::audio
