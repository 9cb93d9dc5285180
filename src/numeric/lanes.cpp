// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/lanes.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstring>

namespace evenwall::internal::numeric {
namespace {

constexpr std::size_t kLanes = 8;  // left and right of four frames
constexpr std::size_t kTables = 2 * kOscillators;
constexpr std::size_t kLevelBlock = 2048;  // samples summed in single precision before they go to double

using Lanes = std::array<float, kLanes>;
// The compiler's vector types: as many lanes as a processor adds at once. Eight lanes are summed separately on every processor, so all
// forms of a kernel give the same bits.
struct Four {
  using Floats [[gnu::vector_size(16)]] = float;
  using Bits [[gnu::vector_size(16)]] = std::uint32_t;
};
struct Eight {
  using Floats [[gnu::vector_size(32)]] = float;
  using Bits [[gnu::vector_size(32)]] = std::uint32_t;
};

double sum_of_channel(const Lanes& lanes, std::size_t channel) {
  double sum = 0;
  for (std::size_t i = channel; i < kLanes; i += 2) sum += static_cast<double>(lanes[i]);
  return sum;
}

struct LevelLanes {
  Lanes sum{}, largest{};
};

/// Computes Σ x·table of each of that many tables and the levels of the same samples, so that the samples are loaded once. It is inlined
/// into its callers, one for each kind of processor.
template <typename Part, std::size_t tables_here>
[[gnu::always_inline]] inline void add_block(std::array<Lanes, kTables>& total, LevelLanes& levels, const float* samples,
                                             const float* tables, std::size_t row, std::size_t count) {
  using Floats = typename Part::Floats;
  const std::size_t whole = count - count % kLanes;
  for (std::size_t lane = 0; lane < kLanes; lane += sizeof(Floats) / sizeof(float)) {
    Floats sums[tables_here + 1], sum{}, largest{}, x, value;
    for (std::size_t t = 0; t < tables_here; ++t) std::memcpy(&sums[t], &total[t][lane], sizeof(Floats));
    for (std::size_t i = lane; i < whole; i += kLanes) {
      std::memcpy(&x, samples + i, sizeof x);
      for (std::size_t t = 0; t < tables_here; ++t) {
        std::memcpy(&value, tables + t * row + i, sizeof value);
        sums[t] += x * value;
      }
      sum += x;
      const auto size = reinterpret_cast<Floats>(reinterpret_cast<typename Part::Bits>(x) & 0x7FFFFFFFU);
      largest = size > largest ? size : largest;
    }
    for (std::size_t t = 0; t < tables_here; ++t) std::memcpy(&total[t][lane], &sums[t], sizeof(Floats));
    std::memcpy(&levels.sum[lane], &sum, sizeof sum);
    std::memcpy(&levels.largest[lane], &largest, sizeof largest);
  }
  // The samples after the last whole group of eight, each in its own lane.
  for (std::size_t i = whole; i < count; ++i) {
    for (std::size_t t = 0; t < tables_here; ++t) total[t][i - whole] += samples[i] * tables[t * row + i];
    levels.sum[i - whole] += samples[i];
    levels.largest[i - whole] = std::max(levels.largest[i - whole], std::abs(samples[i]));
  }
}

template <std::size_t tables_here>
void plain_block(std::array<Lanes, kTables>& total, LevelLanes& levels, const float* samples, const float* tables, std::size_t row,
                 std::size_t count) {
  add_block<Four, tables_here>(total, levels, samples, tables, row, count);
}

#if defined(__x86_64__)
template <std::size_t tables_here>
[[gnu::target("avx2")]] void avx2_block(std::array<Lanes, kTables>& total, LevelLanes& levels, const float* samples, const float* tables,
                                        std::size_t row, std::size_t count) {
  add_block<Eight, tables_here>(total, levels, samples, tables, row, count);
}
#endif

template <std::size_t tables_here, auto add_block>
HopSums sums_by_blocks(const float* samples, const float* tables, std::size_t frames) {
  const std::size_t count = 2 * frames;
  std::array<Lanes, kTables> total{};
  HopSums result;
  StereoLevels& levels = result.levels;
  for (std::size_t first = 0; first < count; first += kLevelBlock) {
    LevelLanes lanes;
    add_block(total, lanes, samples + first, tables + first, count, std::min(kLevelBlock, count - first));
    for (std::size_t channel = 0; channel < 2; ++channel) {
      levels.sum[channel] += sum_of_channel(lanes.sum, channel);
      for (std::size_t i = channel; i < kLanes; i += 2) levels.largest[channel] = std::max(levels.largest[channel], lanes.largest[i]);
    }
  }
  // A sample that is not finite makes its sum non-finite. A sum can also overflow, so the samples themselves are checked.
  if (!std::isfinite(levels.sum[0] + levels.sum[1])) {
    levels.finite = std::all_of(samples, samples + count, [](float x) { return std::isfinite(x); });
  }
  for (std::size_t channel = 0; channel < 2; ++channel) {
    for (std::size_t m = 0; m < tables_here / 2; ++m) {
      result.turning[channel].cosine[m] = sum_of_channel(total[2 * m], channel);
      result.turning[channel].sine[m] = sum_of_channel(total[2 * m + 1], channel);
    }
  }
  return result;
}

template <auto add_all, auto add_none>
constexpr LaneKernels kernels(const char* name) {
  return {name, sums_by_blocks<kTables, add_all>,
          [](const float* samples, std::size_t frames) { return sums_by_blocks<0, add_none>(samples, samples, frames).levels; }};
}

constexpr LaneKernels kPlain = kernels<plain_block<kTables>, plain_block<0>>("plain");
#if defined(__x86_64__)
constexpr LaneKernels kAvx2 = kernels<avx2_block<kTables>, avx2_block<0>>("avx2");
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
