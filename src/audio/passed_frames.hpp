// SPDX-License-Identifier: GPL-3.0-or-later
// Keeps the frames that a decoder gave last, packed, so that they can be read again without decoding.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>

#include "audio/bit_packing.hpp"

namespace evenwall::internal::audio {

/// Keeps the newest stereo frames that fit into a fixed number of bytes, without loss. In each block each channel gets as many bits as
/// its largest sample needs: a tone 12 dB below full scale and its crosstalk take 42 bits instead of 48.
class PassedFrames {
 public:
  static constexpr std::int64_t kMostInBlock = 65535;  // frames; the limit of FLAC

  /// bytes: room for at least one block, 6·kMostInBlock + 8. Memory that is never needed is never touched.
  explicit PassedFrames(std::size_t bytes);

  /// Drops all frames; the next block begins at the frame `first`.
  void restart(std::int64_t first);
  /// Appends a block and drops the oldest ones. Returns false, and does not keep the block, if a sample has more than 24 bits: a malicious
  /// stream can decode to such samples. Requires: 0 < count <= kMostInBlock.
  [[nodiscard]] bool keep(const std::int32_t* left, const std::int32_t* right, std::int64_t count) noexcept;
  /// The first frame that is kept, and the frame after the last one.
  [[nodiscard]] std::int64_t first() const { return count_ > 0 ? oldest().first : next_; }
  [[nodiscard]] std::int64_t next() const { return next_; }
  /// Copies frames from `from` on, interleaved and times `scale`, at most to the end of one block; returns their number. Requires:
  /// first() <= from < next(), count > 0; out: room for 2·count.
  std::int64_t read(std::int64_t from, std::int64_t count, float scale, float* out) const;

 private:
  struct Block {
    std::int64_t first = 0;
    std::int64_t frames = 0;
    std::size_t place = 0;  // byte at which it begins
    FrameBits bits;
  };
  static constexpr std::size_t kMostBlocks = 1024;  // half as many suffice for FLAC's usual blocks of 4,096 frames

  [[nodiscard]] const Block& oldest() const { return blocks_[oldest_]; }
  void drop_oldest() noexcept;
  /// Drops blocks until that many bytes are free in one piece, and returns the offset of that piece.
  std::size_t room_for(std::size_t bytes) noexcept;

  std::size_t bytes_;
  std::unique_ptr<std::uint8_t[]> store_;
  std::array<Block, kMostBlocks> blocks_{};  // a ring, in the order of the frames
  std::size_t oldest_ = 0, count_ = 0;
  std::size_t write_ = 0;  // byte after the newest block
  std::int64_t next_ = 0;
};

}  // namespace evenwall::internal::audio
