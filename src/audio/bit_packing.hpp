// SPDX-License-Identifier: GPL-3.0-or-later
// Stereo frames of as few bits as a block's largest samples need.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace evenwall::internal::audio {

/// Frame i of a block takes bits i·(left + right) and on, the left sample's first, lowest bit and byte first.
struct FrameBits {
  unsigned left = 0;   ///< 1 to 24
  unsigned right = 0;  ///< 1 to 24
  [[nodiscard]] unsigned both() const { return left + right; }
};

/// Of a sample that can be packed.
inline constexpr unsigned kMostBits = 24;

/// Bits for those samples, sign included; 8 at the least for both together, so that no byte holds bits of three frames.
FrameBits bits_for(const std::int32_t* left, const std::int32_t* right, std::size_t count);

/// What a word at the last frame reaches over.
inline constexpr std::size_t kPackedMargin_bytes = 8;

/// One way to pack and unpack, for one kind of processor. All give the same bits.
struct BitPacking {
  const char* name;
  /// Requires: no more than kMostBits each. out: ⌈count·bits.both()/8⌉ + kPackedMargin_bytes.
  void (*pack)(const std::int32_t* left, const std::int32_t* right, std::size_t count, FrameBits bits, std::uint8_t* out);
  /// Frames first … first + count − 1, interleaved, each sample times `scale`. in: the block with its margin. out: 2·count.
  void (*unpack)(const std::uint8_t* in, std::size_t first, std::size_t count, FrameBits bits, float scale, float* out);
};

/// All that this processor can run, the one for any processor first, the fastest last.
std::vector<const BitPacking*> bit_packings_here();
const BitPacking& fastest_bit_packing();

}  // namespace evenwall::internal::audio
