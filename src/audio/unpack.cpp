// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/unpack.hpp"

#if defined(__x86_64__)
#include <immintrin.h>
#endif

namespace evenwall::internal::audio {
namespace {

constexpr float kScale16 = 1.0F / 32768.0F;
constexpr float kScale24 = 1.0F / 8388608.0F;

void plain_pcm16(const std::uint8_t* bytes, std::size_t count, float* out) {
  for (std::size_t i = 0; i < count; ++i) {
    out[i] = kScale16 * static_cast<float>(static_cast<std::int16_t>(bytes[2 * i] | bytes[2 * i + 1] << 8));
  }
}

void plain_pcm24(const std::uint8_t* bytes, std::size_t count, float* out) {
  for (std::size_t i = 0; i < count; ++i) {
    const std::uint8_t* b = bytes + 3 * i;
    // The sample goes into the upper three bytes; the arithmetic shift back extends the sign.
    const auto shifted = static_cast<std::int32_t>(static_cast<std::uint32_t>(b[0]) << 8 | static_cast<std::uint32_t>(b[1]) << 16 |
                                                   static_cast<std::uint32_t>(b[2]) << 24);
    out[i] = kScale24 * static_cast<float>(shifted >> 8);
  }
}

constexpr Unpacking kPlainUnpacking{"plain", plain_pcm16, plain_pcm24};

#if defined(__x86_64__)

[[gnu::target("avx2")]] void avx2_pcm24(const std::uint8_t* bytes, std::size_t count, float* out) {
  // Each half moves four samples of three bytes to the upper three bytes of four integers.
  const __m256i spread =
      _mm256_setr_epi8(-1, 0, 1, 2, -1, 3, 4, 5, -1, 6, 7, 8, -1, 9, 10, 11, -1, 0, 1, 2, -1, 3, 4, 5, -1, 6, 7, 8, -1, 9, 10, 11);
  const __m256 scale = _mm256_set1_ps(kScale24);
  std::size_t i = 0;
  // Each load reads sixteen bytes and uses twelve, so the last samples are unpacked by the plain loop.
  for (; i + 10 <= count; i += 8) {
    const auto* at = reinterpret_cast<const __m128i*>(bytes + 3 * i);
    const auto* next = reinterpret_cast<const __m128i*>(bytes + 3 * i + 12);
    const __m256i raw = _mm256_inserti128_si256(_mm256_castsi128_si256(_mm_loadu_si128(at)), _mm_loadu_si128(next), 1);
    const __m256i value = _mm256_srai_epi32(_mm256_shuffle_epi8(raw, spread), 8);
    _mm256_storeu_ps(out + i, _mm256_mul_ps(scale, _mm256_cvtepi32_ps(value)));
  }
  plain_pcm24(bytes + 3 * i, count - i, out + i);
}

[[gnu::target("avx2")]] void avx2_pcm16(const std::uint8_t* bytes, std::size_t count, float* out) {
  const __m256 scale = _mm256_set1_ps(kScale16);
  std::size_t i = 0;
  for (; i + 8 <= count; i += 8) {
    const __m256i value = _mm256_cvtepi16_epi32(_mm_loadu_si128(reinterpret_cast<const __m128i*>(bytes + 2 * i)));
    _mm256_storeu_ps(out + i, _mm256_mul_ps(scale, _mm256_cvtepi32_ps(value)));
  }
  plain_pcm16(bytes + 2 * i, count - i, out + i);
}

constexpr Unpacking kAvx2Unpacking{"avx2", avx2_pcm16, avx2_pcm24};

#endif

}  // namespace

std::vector<const Unpacking*> unpackings_here() {
  std::vector<const Unpacking*> all{&kPlainUnpacking};
#if defined(__x86_64__)
  if (__builtin_cpu_supports("avx2")) all.push_back(&kAvx2Unpacking);
#endif
  return all;
}

const Unpacking& fastest_unpacking() {
  static const Unpacking& fastest = *unpackings_here().back();
  return fastest;
}

}  // namespace evenwall::internal::audio
