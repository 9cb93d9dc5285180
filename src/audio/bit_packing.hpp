// SPDX-License-Identifier: GPL-3.0-or-later
// Packs stereo frames into as few bits as a block's largest samples need, and unpacks them.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace evenwall::internal::audio {

/// Frame i of a block begins at bit i·(left + right). Its left sample comes first; the lowest bit and the lowest byte come first.
struct FrameBits {
  unsigned left = 0;   ///< 1 to 24
  unsigned right = 0;  ///< 1 to 24
  [[nodiscard]] unsigned both() const { return left + right; }
};

/// Most bits of a sample that can be packed.
inline constexpr unsigned kMostBits = 24;

/// Bits that these samples need, sign included. Both together are at least 8, so that no byte holds bits of three frames.
FrameBits bits_for(const std::int32_t* left, const std::int32_t* right, std::size_t count);

/// Bytes by which the word of the last frame may extend past the packed block.
inline constexpr std::size_t kPackedMargin_bytes = 8;

/// One implementation of packing and unpacking, for one kind of processor. All implementations give the same bits.
struct BitPacking {
  const char* name;
  /// Requires: at most kMostBits for each sample. out: ⌈count·bits.both()/8⌉ + kPackedMargin_bytes.
  void (*pack)(const std::int32_t* left, const std::int32_t* right, std::size_t count, FrameBits bits, std::uint8_t* out);
  /// Unpacks frames first … first + count − 1, interleaved, each sample times `scale`. in: the block with its margin. out: 2·count.
  void (*unpack)(const std::uint8_t* in, std::size_t first, std::size_t count, FrameBits bits, float scale, float* out);
};

/// The implementations that this processor can run: the portable one first, the fastest last.
std::vector<const BitPacking*> bit_packings_here();
const BitPacking& fastest_bit_packing();

}  // namespace evenwall::internal::audio
