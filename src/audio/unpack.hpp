// SPDX-License-Identifier: GPL-3.0-or-later
// Converts little-endian integers of a file to samples, scaled as libsndfile scales them.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace evenwall::internal::audio {

/// One implementation of unpacking, for one kind of processor. All give the same bits: value/2^(bits−1), exact in single precision.
struct Unpacking {
  const char* name;
  /// bytes: 2·count. out: count.
  void (*pcm16)(const std::uint8_t* bytes, std::size_t count, float* out);
  /// bytes: 3·count. out: count.
  void (*pcm24)(const std::uint8_t* bytes, std::size_t count, float* out);
};

/// The implementations that this processor can run: the portable one first, the fastest last.
std::vector<const Unpacking*> unpackings_here();
const Unpacking& fastest_unpacking();

}  // namespace evenwall::internal::audio
