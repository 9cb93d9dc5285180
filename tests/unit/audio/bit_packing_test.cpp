// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/bit_packing.hpp"

#include <random>
#include <vector>

#include "support/catch.hpp"
#include "unit/audio/example_audio.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;

namespace {

/// Packs one bit after the other: slow, but obvious.
std::vector<std::uint8_t> packed_bit_by_bit(const std::vector<std::int32_t>& left, const std::vector<std::int32_t>& right, FrameBits bits) {
  std::vector<std::uint8_t> out((left.size() * bits.both() + 7) / 8);
  std::size_t at = 0;
  const auto put = [&](std::int32_t sample, unsigned count) {
    for (unsigned bit = 0; bit < count; ++bit, ++at) {
      const auto one = static_cast<unsigned>(static_cast<std::uint32_t>(sample) >> bit & 1U);
      out[at / 8] = static_cast<std::uint8_t>(out[at / 8] | one << at % 8);
    }
  };
  for (std::size_t i = 0; i < left.size(); ++i) {
    put(left[i], bits.left);
    put(right[i], bits.right);
  }
  return out;
}

}  // namespace

TEST_CASE("Every way of packing gives the bits that a bit-by-bit reference gives, and unpacking restores the samples") {
  std::mt19937 random(41);  // seed
  std::uniform_int_distribution<unsigned> any_bits(1, 24);
  std::uniform_int_distribution<std::size_t> any_count(1, 200);
  for (int trial = 0; trial < 1000; ++trial) {
    const std::size_t count = any_count(random);
    const auto left = random_samples(any_bits(random), count, random);
    const auto right = random_samples(any_bits(random), count, random);
    const FrameBits bits = bits_for(left.data(), right.data(), count);
    const auto expected = packed_bit_by_bit(left, right, bits);
    std::vector<float> samples;
    for (std::size_t i = 0; i < count; ++i) {
      samples.push_back(0.25F * static_cast<float>(left[i]));
      samples.push_back(0.25F * static_cast<float>(right[i]));
    }
    const std::size_t first = trial % 3 == 0 ? 0 : any_count(random) % count;
    const std::size_t some = 1 + any_count(random) % (count - first);
    for (const BitPacking* way : bit_packings_here()) {
      INFO("trial " << trial << ", " << way->name << ", bits " << bits.left << " and " << bits.right);
      std::vector<std::uint8_t> block(expected.size() + kPackedMargin_bytes, 0xA5);
      way->pack(left.data(), right.data(), count, bits, block.data());
      REQUIRE(std::equal(expected.begin(), expected.end(), block.begin()));
      std::vector<float> out(2 * some);
      way->unpack(block.data(), first, some, bits, 0.25F, out.data());
      REQUIRE(std::equal(out.begin(), out.end(), samples.begin() + static_cast<std::ptrdiff_t>(2 * first)));
    }
  }
}

TEST_CASE("A sample gets as many bits as it needs, also at the extremes of 24 bits") {
  const auto bits = [](std::int32_t left, std::int32_t right) { return bits_for(&left, &right, 1); };
  CHECK(bits(8388607, -8388608).left == 24);
  CHECK(bits(8388607, -8388608).right == 24);
  CHECK(bits(-129, 127).left == 9);
  CHECK(bits(-129, 127).right == 8);
  CHECK(bits(0, -1).left == 1);
  CHECK(bits(0, -1).both() == 8);
  CHECK(bits(3, 0).left == 3);
  CHECK(bits(3, 0).both() == 8);
}
