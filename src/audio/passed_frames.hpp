// SPDX-License-Identifier: GPL-3.0-or-later
// What a decoder gave last, packed, to be listened to without decoding it again.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>

#include "audio/bit_packing.hpp"

namespace evenwall::internal::audio {

/// Keeps the newest stereo frames that fit into a fixed number of bytes. Block by block each channel gets as many bits as its largest
/// sample needs: a tone 12 dB below full scale and its leak take 42 bits where 24 each would take 48. Lossless.
class PassedFrames {
 public:
  static constexpr std::int64_t kMostInBlock = 65535;  // frames, as FLAC has it

  /// bytes: room for one block at the least, 6·kMostInBlock + 8. Memory that is never needed is never touched.
  explicit PassedFrames(std::size_t bytes);

  /// Forgets all; the next block begins at that frame.
  void restart(std::int64_t first);
  /// Appends a block; the oldest go. Returns false, and keeps nothing, where a sample has more than 24 bits: a stream made to harm can
  /// decode to that. Requires: 0 < count <= kMostInBlock.
  [[nodiscard]] bool keep(const std::int32_t* left, const std::int32_t* right, std::int64_t count) noexcept;
  /// First frame that is kept, and the one after the last.
  [[nodiscard]] std::int64_t first() const { return count_ > 0 ? oldest().first : next_; }
  [[nodiscard]] std::int64_t next() const { return next_; }
  /// Frames from `from` on, interleaved and times `scale`, as far as one block goes; returns how many. Requires: first() <= from < next(),
  /// count > 0; out: room for 2·count.
  std::int64_t read(std::int64_t from, std::int64_t count, float scale, float* out) const;

 private:
  struct Block {
    std::int64_t first = 0;
    std::int64_t frames = 0;
    std::size_t place = 0;  // byte where it begins
    FrameBits bits;
  };
  static constexpr std::size_t kMostBlocks = 1024;  // of FLAC's usual 4,096 frames half would do

  [[nodiscard]] const Block& oldest() const { return blocks_[oldest_]; }
  void drop_oldest() noexcept;
  /// Drops blocks until that many bytes are free in one piece, and returns where.
  std::size_t room_for(std::size_t bytes) noexcept;

  std::size_t bytes_;
  std::unique_ptr<std::uint8_t[]> store_;
  std::array<Block, kMostBlocks> blocks_{};  // in a ring, in the order of their frames
  std::size_t oldest_ = 0, count_ = 0;
  std::size_t write_ = 0;  // byte after the newest block
  std::int64_t next_ = 0;
};

}  // namespace evenwall::internal::audio
