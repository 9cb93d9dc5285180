// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/passed_frames.hpp"

#include <algorithm>
#include <cassert>

namespace evenwall::internal::audio {

PassedFrames::PassedFrames(std::size_t bytes) : bytes_(bytes), store_(std::make_unique_for_overwrite<std::uint8_t[]>(bytes)) {}

void PassedFrames::restart(std::int64_t first) {
  oldest_ = count_ = write_ = 0;
  next_ = first;
}

void PassedFrames::drop_oldest() noexcept {
  oldest_ = (oldest_ + 1) % kMostBlocks;
  --count_;
}

std::size_t PassedFrames::room_for(std::size_t bytes) noexcept {
  if (count_ == kMostBlocks) drop_oldest();
  // The kept blocks lie between the oldest one and `write_`, possibly around the end of the store.
  while (count_ > 0) {
    if (write_ > oldest().place) {
      if (bytes <= bytes_ - write_) return write_;
      write_ = 0;  // the rest of the store stays unused
    } else {
      if (bytes <= oldest().place - write_) return write_;
      drop_oldest();
    }
  }
  return 0;
}

bool PassedFrames::keep(const std::int32_t* left, const std::int32_t* right, std::int64_t count) noexcept {
  assert(0 < count && count <= kMostInBlock);
  Block block;
  block.first = next_;
  block.frames = count;
  const auto frames = static_cast<std::size_t>(count);
  block.bits = bits_for(left, right, frames);
  if (block.bits.left > kMostBits || block.bits.right > kMostBits) return false;
  const std::size_t bytes = (frames * block.bits.both() + 7) / 8 + kPackedMargin_bytes;
  block.place = room_for(bytes);
  fastest_bit_packing().pack(left, right, frames, block.bits, store_.get() + block.place);
  blocks_[(oldest_ + count_) % kMostBlocks] = block;
  ++count_;
  write_ = block.place + bytes;
  next_ += count;
  return true;
}

std::int64_t PassedFrames::read(std::int64_t from, std::int64_t count, float scale, float* out) const {
  assert(first() <= from && from < next() && count > 0);
  // Finds the last block that begins no later than `from`.
  std::size_t low = 0, high = count_ - 1;
  while (low < high) {
    const std::size_t middle = (low + high + 1) / 2;
    blocks_[(oldest_ + middle) % kMostBlocks].first <= from ? low = middle : high = middle - 1;
  }
  const Block& block = blocks_[(oldest_ + low) % kMostBlocks];
  const std::int64_t skipped = from - block.first;
  const std::int64_t n = std::min(count, block.frames - skipped);
  fastest_bit_packing().unpack(store_.get() + block.place, static_cast<std::size_t>(skipped), static_cast<std::size_t>(n), block.bits,
                               scale, out);
  return n;
}

}  // namespace evenwall::internal::audio
