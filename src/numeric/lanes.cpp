// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/lanes.hpp"

#include <algorithm>
#include <cmath>

#if defined(__x86_64__)
#include <immintrin.h>
#endif

namespace evenwall::internal::numeric {
namespace {

constexpr std::size_t kLanes = 8;  // left and right of four frames
constexpr std::size_t kTables = 2 * kOscillators;
constexpr std::size_t kLevelBlock = 2048;  // samples summed in single precision before they go to double

using Lanes = std::array<float, kLanes>;

/// Takes what is left of a row after the last whole vector, each value in the lane it belongs to.
void add_tail(Lanes& lanes, const float* samples, const float* table, std::size_t from, std::size_t count) {
  for (std::size_t i = from; i < count; ++i) lanes[i - from] += samples[i] * table[i];
}

double sum_of_channel(const Lanes& lanes, std::size_t channel) {
  double sum = 0;
  for (std::size_t i = channel; i < kLanes; i += 2) sum += static_cast<double>(lanes[i]);
  return sum;
}

std::array<TurningSums, 2> sums_of(const std::array<Lanes, kTables>& lanes) {
  std::array<TurningSums, 2> sums;
  for (std::size_t channel = 0; channel < 2; ++channel) {
    for (std::size_t m = 0; m < kOscillators; ++m) {
      sums[channel].cosine[m] = sum_of_channel(lanes[2 * m], channel);
      sums[channel].sine[m] = sum_of_channel(lanes[2 * m + 1], channel);
    }
  }
  return sums;
}

struct LevelLanes {
  Lanes sum{}, largest{};
};

void add_level_tail(LevelLanes& lanes, const float* samples, std::size_t from, std::size_t count) {
  for (std::size_t i = from; i < count; ++i) {
    lanes.sum[i - from] += samples[i];
    lanes.largest[i - from] = std::max(lanes.largest[i - from], std::abs(samples[i]));
  }
}

void plain_levels_of(LevelLanes& lanes, const float* samples, std::size_t count) {
  const std::size_t whole = count - count % kLanes;
  for (std::size_t i = 0; i < whole; i += kLanes) {
    for (std::size_t lane = 0; lane < kLanes; ++lane) {
      lanes.sum[lane] += samples[i + lane];
      lanes.largest[lane] = std::max(lanes.largest[lane], std::abs(samples[i + lane]));
    }
  }
  add_level_tail(lanes, samples, whole, count);
}

/// One block of samples joins the result.
void take(const LevelLanes& lanes, StereoLevels& result) {
  for (std::size_t channel = 0; channel < 2; ++channel) {
    result.sum[channel] += sum_of_channel(lanes.sum, channel);
    for (std::size_t i = channel; i < kLanes; i += 2) result.largest[channel] = std::max(result.largest[channel], lanes.largest[i]);
  }
}

/// A sample that is not finite makes its sum so; a sum that overflows is looked at too.
void settle_finite(StereoLevels& result, const float* samples, std::size_t frames) {
  if (std::isfinite(result.sum[0] + result.sum[1])) return;
  result.finite = std::all_of(samples, samples + 2 * frames, [](float x) { return std::isfinite(x); });
}

template <typename LevelsOf>
StereoLevels levels_by_blocks(const float* samples, std::size_t frames, LevelsOf levels_of) {
  StereoLevels result;
  for (std::size_t first = 0; first < 2 * frames; first += kLevelBlock) {
    LevelLanes lanes;
    levels_of(lanes, samples + first, std::min(kLevelBlock, 2 * frames - first));
    take(lanes, result);
  }
  settle_finite(result, samples, frames);
  return result;
}

StereoLevels plain_levels(const float* samples, std::size_t frames) { return levels_by_blocks(samples, frames, plain_levels_of); }

HopSums plain_hop_sums(const float* samples, const float* tables, std::size_t frames) {
  const std::size_t count = 2 * frames;
  const std::size_t whole = count - count % kLanes;
  std::array<Lanes, kTables> total{};
  for (std::size_t t = 0; t < kTables; ++t) {
    const float* table = tables + t * count;
    Lanes lanes{};
    for (std::size_t i = 0; i < whole; i += kLanes) {
      for (std::size_t lane = 0; lane < kLanes; ++lane) lanes[lane] += samples[i + lane] * table[i + lane];
    }
    add_tail(lanes, samples, table, whole, count);
    total[t] = lanes;
  }
  return {sums_of(total), plain_levels(samples, frames)};
}

constexpr LaneKernels kPlain{"plain", plain_hop_sums, plain_levels};

#if defined(__x86_64__)

/// Σ x·table of each table, and the levels of the same samples: whoever has them in hand need not load them twice.
[[gnu::target("avx2")]] void avx2_add_block(std::array<Lanes, kTables>& total, LevelLanes& levels, const float* samples,
                                            const float* tables, std::size_t row, std::size_t count) {
  const __m256 sign = _mm256_set1_ps(-0.0F);
  __m256 a = _mm256_loadu_ps(total[0].data()), b = _mm256_loadu_ps(total[1].data()), c = _mm256_loadu_ps(total[2].data());
  __m256 d = _mm256_loadu_ps(total[3].data()), e = _mm256_loadu_ps(total[4].data()), f = _mm256_loadu_ps(total[5].data());
  __m256 sum = _mm256_setzero_ps(), largest = sum;
  const float* t = tables;
  for (std::size_t i = 0; i < count; i += kLanes, t += kLanes) {
    const __m256 x = _mm256_loadu_ps(samples + i);
    a = _mm256_add_ps(a, _mm256_mul_ps(x, _mm256_loadu_ps(t)));
    b = _mm256_add_ps(b, _mm256_mul_ps(x, _mm256_loadu_ps(t + row)));
    c = _mm256_add_ps(c, _mm256_mul_ps(x, _mm256_loadu_ps(t + 2 * row)));
    d = _mm256_add_ps(d, _mm256_mul_ps(x, _mm256_loadu_ps(t + 3 * row)));
    e = _mm256_add_ps(e, _mm256_mul_ps(x, _mm256_loadu_ps(t + 4 * row)));
    f = _mm256_add_ps(f, _mm256_mul_ps(x, _mm256_loadu_ps(t + 5 * row)));
    sum = _mm256_add_ps(sum, x);
    largest = _mm256_max_ps(_mm256_andnot_ps(sign, x), largest);
  }
  _mm256_storeu_ps(total[0].data(), a);
  _mm256_storeu_ps(total[1].data(), b);
  _mm256_storeu_ps(total[2].data(), c);
  _mm256_storeu_ps(total[3].data(), d);
  _mm256_storeu_ps(total[4].data(), e);
  _mm256_storeu_ps(total[5].data(), f);
  _mm256_storeu_ps(levels.sum.data(), sum);
  _mm256_storeu_ps(levels.largest.data(), largest);
}

HopSums avx2_hop_sums(const float* samples, const float* tables, std::size_t frames) {
  const std::size_t count = 2 * frames;
  std::array<Lanes, kTables> total{};
  HopSums result;
  for (std::size_t first = 0; first < count; first += kLevelBlock) {
    const std::size_t here = std::min(kLevelBlock, count - first);
    const std::size_t whole = here - here % kLanes;
    LevelLanes levels;
    avx2_add_block(total, levels, samples + first, tables + first, count, whole);
    for (std::size_t t = 0; t < kTables; ++t) add_tail(total[t], samples + first, tables + t * count + first, whole, here);
    add_level_tail(levels, samples + first, whole, here);
    take(levels, result.levels);
  }
  settle_finite(result.levels, samples, frames);
  result.turning = sums_of(total);
  return result;
}

[[gnu::target("avx2")]] void avx2_levels_of(LevelLanes& lanes, const float* samples, std::size_t count) {
  const std::size_t whole = count - count % kLanes;
  const __m256 sign = _mm256_set1_ps(-0.0F);
  __m256 sum = _mm256_setzero_ps();
  __m256 largest = sum;
  for (std::size_t i = 0; i < whole; i += kLanes) {
    const __m256 x = _mm256_loadu_ps(samples + i);
    sum = _mm256_add_ps(sum, x);
    largest = _mm256_max_ps(_mm256_andnot_ps(sign, x), largest);
  }
  _mm256_storeu_ps(lanes.sum.data(), sum);
  _mm256_storeu_ps(lanes.largest.data(), largest);
  add_level_tail(lanes, samples, whole, count);
}

StereoLevels avx2_levels(const float* samples, std::size_t frames) { return levels_by_blocks(samples, frames, avx2_levels_of); }

constexpr LaneKernels kAvx2{"avx2", avx2_hop_sums, avx2_levels};

#endif

}  // namespace

const LaneKernels& plain_kernels() { return kPlain; }

std::vector<const LaneKernels*> kernels_here() {
  std::vector<const LaneKernels*> sets{&kPlain};
#if defined(__x86_64__)
  if (__builtin_cpu_supports("avx2")) sets.push_back(&kAvx2);
#endif
  return sets;
}

const LaneKernels& fastest_kernels() {
  static const LaneKernels& fastest = *kernels_here().back();
  return fastest;
}

}  // namespace evenwall::internal::numeric
