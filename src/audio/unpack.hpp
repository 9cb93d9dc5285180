// SPDX-License-Identifier: GPL-3.0-or-later
// Little-endian integers from a file -> samples, as libsndfile scales them.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace evenwall::internal::audio {

/// One way to unpack, for one kind of processor. All give the same bits: value/2^(bits−1), which single precision holds exactly.
struct Unpacking {
  const char* name;
  /// bytes: 2·count. out: count.
  void (*pcm16)(const std::uint8_t* bytes, std::size_t count, float* out);
  /// bytes: 3·count. out: count.
  void (*pcm24)(const std::uint8_t* bytes, std::size_t count, float* out);
};

/// All that this processor can run, the one for any processor first, the fastest last.
std::vector<const Unpacking*> unpackings_here();
const Unpacking& fastest_unpacking();

}  // namespace evenwall::internal::audio
