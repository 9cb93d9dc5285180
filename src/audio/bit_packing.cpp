// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/bit_packing.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>

#if defined(__x86_64__)
#include <immintrin.h>
#endif

namespace evenwall::internal::audio {
namespace {

std::uint64_t wide(std::int32_t sample) { return static_cast<std::uint64_t>(static_cast<std::int64_t>(sample)); }
std::int64_t signed_of(std::uint64_t word) { return static_cast<std::int64_t>(word); }

/// Reorders a word so that its lowest bits come first in memory on every machine.
std::uint64_t in_memory_order(std::uint64_t word) {
  if constexpr (std::endian::native == std::endian::little) return word;
  std::uint64_t turned = 0;
  for (unsigned byte = 0; byte < sizeof word; ++byte) turned |= (word >> (8U * byte) & 0xFFU) << (8U * (sizeof word - 1 - byte));
  return turned;
}

std::uint64_t lowest(unsigned bits) { return (std::uint64_t{1} << bits) - 1; }

std::uint64_t frame_word(std::int32_t left, std::int32_t right, FrameBits bits) {
  return (wide(right) << bits.left | (wide(left) & lowest(bits.left))) & lowest(bits.both());
}

/// Packs the frames from `first` on.
void pack_from(const std::int32_t* left, const std::int32_t* right, std::size_t first, std::size_t count, FrameBits bits,
               std::uint8_t* out) {
  std::uint64_t before = first > 0 ? frame_word(left[first - 1], right[first - 1], bits) : 0;
  for (std::size_t i = first, at_bit = first * bits.both(); i < count; ++i, at_bit += bits.both()) {
    const std::uint64_t word = frame_word(left[i], right[i], bits);
    // The byte that two frames share also holds the upper bits of the frame before. The next frame overwrites the zeros above this word.
    const unsigned shared = at_bit % 8;
    const std::uint64_t with_neighbour = in_memory_order(word << shared | before >> (bits.both() - shared));
    std::memcpy(out + at_bit / 8, &with_neighbour, sizeof with_neighbour);
    before = word;
  }
}

void plain_pack(const std::int32_t* left, const std::int32_t* right, std::size_t count, FrameBits bits, std::uint8_t* out) {
  pack_from(left, right, 0, count, bits, out);
}

void plain_unpack(const std::uint8_t* in, std::size_t first, std::size_t count, FrameBits bits, float scale, float* out) {
  for (std::size_t i = 0, at_bit = first * bits.both(); i < count; ++i, at_bit += bits.both()) {
    std::uint64_t word = 0;
    std::memcpy(&word, in + at_bit / 8, sizeof word);
    word = in_memory_order(word) >> at_bit % 8;
    // Shifting to the top and back extends the sign.
    out[2 * i] = scale * static_cast<float>(static_cast<std::int32_t>(signed_of(word << (64U - bits.left)) >> (64U - bits.left)));
    out[2 * i + 1] = scale * static_cast<float>(static_cast<std::int32_t>(signed_of(word << (64U - bits.both())) >> (64U - bits.right)));
  }
}

constexpr BitPacking kPlain{"plain", plain_pack, plain_unpack};

#if defined(__x86_64__)

/// Eight frames fill as many whole bytes as one frame has bits. These are the positions of the eight, the same in every group.
constexpr std::size_t kGroup = 8;
struct Places {
  explicit Places(unsigned bits) {
    for (unsigned k = 0; k < kGroup; ++k) {
      byte[k] = k * bits / 8;
      shared[k] = k * bits % 8;
      spilt[k] = bits - shared[k];
    }
  }
  std::array<std::size_t, kGroup> byte{};
  alignas(32) std::array<std::int64_t, kGroup> shared{}, spilt{};
};

[[gnu::target("avx2")]] inline __m256i four(const std::array<std::int64_t, kGroup>& values, std::size_t half) {
  return _mm256_load_si256(reinterpret_cast<const __m256i*>(values.data() + 4 * half));
}

[[gnu::target("avx2")]] inline void store_low(__m128i value, std::uint8_t* out) {
  _mm_storel_epi64(reinterpret_cast<__m128i*>(out), value);
}

[[gnu::target("avx2")]] inline void store_high(__m128i value, std::uint8_t* out) {
  store_low(_mm_unpackhi_epi64(value, value), out);  // _mm_storeh_pd needs aligned doubles
}

[[gnu::target("avx2")]] void avx2_pack(const std::int32_t* left, const std::int32_t* right, std::size_t count, FrameBits bits,
                                       std::uint8_t* out) {
  const Places places(bits.both());
  const __m128i up = _mm_cvtsi32_si128(static_cast<int>(bits.left));
  const __m256i mask_left = _mm256_set1_epi64x(signed_of(lowest(bits.left)));
  const __m256i mask = _mm256_set1_epi64x(signed_of(lowest(bits.both())));
  __m256i before = _mm256_setzero_si256();  // the four words before these
  std::size_t i = 0;
  for (; i + kGroup <= count; i += kGroup, out += bits.both()) {
    for (std::size_t half = 0; half < 2; ++half) {
      const auto* l = reinterpret_cast<const __m128i*>(left + i + 4 * half);
      const auto* r = reinterpret_cast<const __m128i*>(right + i + 4 * half);
      const __m256i of_left = _mm256_and_si256(_mm256_cvtepi32_epi64(_mm_loadu_si128(l)), mask_left);
      const __m256i of_right = _mm256_sll_epi64(_mm256_cvtepi32_epi64(_mm_loadu_si128(r)), up);
      const __m256i words = _mm256_and_si256(_mm256_or_si256(of_right, of_left), mask);
      // The word before each word: the last of the four before, then the first three of these.
      const __m256i neighbours = _mm256_alignr_epi8(words, _mm256_permute2x128_si256(before, words, 0x21), 8);
      const __m256i done =
          _mm256_or_si256(_mm256_sllv_epi64(words, four(places.shared, half)), _mm256_srlv_epi64(neighbours, four(places.spilt, half)));
      const std::size_t* byte = places.byte.data() + 4 * half;
      const __m128i low = _mm256_castsi256_si128(done);
      const __m128i high = _mm256_extracti128_si256(done, 1);
      store_low(low, out + byte[0]);
      store_high(low, out + byte[1]);
      store_low(high, out + byte[2]);
      store_high(high, out + byte[3]);
      before = words;
    }
  }
  pack_from(left, right, i, count, bits, out - i / kGroup * bits.both());
}

[[gnu::target("avx2")]] inline __m256i load_four(const std::uint8_t* in, const std::size_t* byte) {
  const auto at = [&](std::size_t k) { return reinterpret_cast<const __m128i*>(in + byte[k]); };
  const __m128i low = _mm_unpacklo_epi64(_mm_loadl_epi64(at(0)), _mm_loadl_epi64(at(1)));
  const __m128i high = _mm_unpacklo_epi64(_mm_loadl_epi64(at(2)), _mm_loadl_epi64(at(3)));
  return _mm256_inserti128_si256(_mm256_castsi128_si256(low), high, 1);
}

[[gnu::target("avx2")]] void avx2_unpack(const std::uint8_t* in, std::size_t first, std::size_t count, FrameBits bits, float scale,
                                         float* out) {
  const std::size_t before = std::min(count, (kGroup - first % kGroup) % kGroup);
  plain_unpack(in, first, before, bits, scale, out);
  const Places places(bits.both());
  // The left sample goes to the top of its word's lower half, the right one to the top of the upper half; shifting down extends the signs.
  const __m256i up_left = _mm256_set1_epi64x(32 - bits.left);
  const __m128i up_both = _mm_cvtsi32_si128(static_cast<int>(64 - bits.both()));
  const __m256i down = _mm256_set1_epi64x(static_cast<std::int64_t>(32 - bits.right) << 32 | (32 - bits.left));
  const __m256 scales = _mm256_set1_ps(scale);
  std::size_t i = before;
  const std::uint8_t* group = in + (first + before) / kGroup * bits.both();
  for (; i + kGroup <= count; i += kGroup, group += bits.both()) {
    for (std::size_t half = 0; half < 2; ++half) {
      const __m256i words = _mm256_srlv_epi64(load_four(group, places.byte.data() + 4 * half), four(places.shared, half));
      const __m256i both = _mm256_blend_epi32(_mm256_sllv_epi32(words, up_left), _mm256_sll_epi64(words, up_both), 0xAA);
      const __m256 values = _mm256_cvtepi32_ps(_mm256_srav_epi32(both, down));
      _mm256_storeu_ps(out + 2 * i + 8 * half, _mm256_mul_ps(scales, values));
    }
  }
  plain_unpack(in, first + i, count - i, bits, scale, out + 2 * i);
}

constexpr BitPacking kAvx2{"avx2", avx2_pack, avx2_unpack};

#endif

/// Bits of the largest sample, its sign included.
unsigned bits_of(const std::int32_t* samples, std::size_t count) {
  std::uint32_t sizes = 0;
  for (std::size_t i = 0; i < count; ++i) sizes |= static_cast<std::uint32_t>(samples[i] ^ (samples[i] >> 31));
  return static_cast<unsigned>(std::bit_width(sizes)) + 1;
}

}  // namespace

FrameBits bits_for(const std::int32_t* left, const std::int32_t* right, std::size_t count) {
  const FrameBits bits{bits_of(left, count), bits_of(right, count)};
  return {bits.left, std::max(bits.right, 8U - std::min(bits.left, 8U))};
}

std::vector<const BitPacking*> bit_packings_here() {
  std::vector<const BitPacking*> all{&kPlain};
#if defined(__x86_64__)
  if (__builtin_cpu_supports("avx2")) all.push_back(&kAvx2);
#endif
  return all;
}

const BitPacking& fastest_bit_packing() {
  static const BitPacking& fastest = *bit_packings_here().back();
  return fastest;
}

}  // namespace evenwall::internal::audio
