// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the SHA-256 of all frames of a recording, block by block, so that memory does not grow with its length.
//
// Cost: SHA-256 of 8 bytes per frame (16 for 64-bit floats), which takes twice as long as the measurement of a WAV file, and seven times as
// long without the processor's instructions for it (docs/speed.md). It is therefore computed only on request.
#include <bit>
#include <cstdint>
#include <vector>

#include "audio/exact_source.hpp"
#include "audio/sha256.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"

namespace evenwall::internal::audio {
namespace {

constexpr std::int64_t kHashBlockFrames = 8192;  // 64 KB of exact samples: stays in the nearer caches between reading and hashing

/// Gives the samples of any source as 32-bit floats, little-endian.
class FloatBytes {
 public:
  explicit FloatBytes(AudioSource& source) : source_(source) {}

  std::int64_t read(std::int64_t first, std::int64_t count, std::uint8_t* out) {
    samples_.resize(static_cast<std::size_t>(2 * count));
    const std::int64_t got = source_.read(first, count, samples_.data());
    for (std::int64_t i = 0; i < 2 * got; ++i, out += 4) {
      const auto bits = std::bit_cast<std::uint32_t>(samples_[static_cast<std::size_t>(i)]);
      for (std::size_t k = 0; k < 4; ++k) out[k] = static_cast<std::uint8_t>(bits >> (8 * k));
    }
    return got;
  }

 private:
  AudioSource& source_;
  std::vector<float> samples_;
};

}  // namespace
}  // namespace evenwall::internal::audio

namespace evenwall {

std::string sha256_of_frames(AudioSource& source) {
  using namespace internal::audio;
  auto* const exact = dynamic_cast<ExactSource*>(&source);
  FloatBytes floats(source);
  const std::size_t frame_bytes = 2 * (exact != nullptr ? exact->exact_sample_bytes() : sizeof(float));
  std::vector<std::uint8_t> block(static_cast<std::size_t>(kHashBlockFrames) * frame_bytes);
  Sha256 hash;
  for (std::int64_t first = 0; first < source.frames();) {
    const std::int64_t got =
        exact != nullptr ? exact->read_exact(first, kHashBlockFrames, block.data()) : floats.read(first, kHashBlockFrames, block.data());
    if (got <= 0)
      throw Error(ErrorKind::kInput, "the recording ended before its last frame. Its SHA-256 cannot be computed. Measure it again.");
    hash.add(block.data(), static_cast<std::size_t>(got) * frame_bytes);
    first += got;
  }
  if (exact != nullptr) exact->require_same_file();
  return hash.take_digest();
}

}  // namespace evenwall
