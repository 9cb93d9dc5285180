// SPDX-License-Identifier: GPL-3.0-or-later
// Times each hot loop in each of its implementations. docs/speed.md names the command.
#include <benchmark/benchmark.h>

#include <random>

#include "audio/bit_packing.hpp"
#include "audio/unpack.hpp"
#include "measure/lock_in.hpp"
#include "numeric/fft.hpp"
#include "numeric/lanes.hpp"
#include "numeric/running_median.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;
using namespace evenwall::internal::measure;
using namespace evenwall::internal::numeric;

namespace {

constexpr std::size_t kFrames = 512;  // a hop at 96 kHz

std::vector<float> noise(std::size_t count) {
  std::mt19937 generator(1);
  std::normal_distribution<float> normal(0, 0.1F);
  std::vector<float> values(count);
  for (float& x : values) x = normal(generator);
  return values;
}

void hop_sums(benchmark::State& state, const LaneKernels* set) {
  const auto samples = noise(2 * kFrames);
  const auto tables = noise(2 * kOscillators * 2 * kFrames);
  for (auto _ : state) benchmark::DoNotOptimize(set->hop_sums(samples.data(), tables.data(), kFrames));
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(kFrames));
}

void levels(benchmark::State& state, const LaneKernels* set) {
  const auto samples = noise(2 * kFrames);
  for (auto _ : state) benchmark::DoNotOptimize(set->levels(samples.data(), kFrames));
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(kFrames));
}

void pcm24(benchmark::State& state, const Unpacking* way) {
  const std::vector<std::uint8_t> bytes(6 * kFrames, 0x5A);
  std::vector<float> out(2 * kFrames);
  for (auto _ : state) {
    way->pcm24(bytes.data(), out.size(), out.data());
    benchmark::DoNotOptimize(out.data());
    benchmark::ClobberMemory();
  }
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(kFrames));
}

constexpr FrameBits kToneAndLeak{23, 19};

void pack_bits(benchmark::State& state, const BitPacking* way) {
  std::vector<std::int32_t> left(kFrames), right(kFrames);
  for (std::size_t i = 0; i < kFrames; ++i) left[i] = static_cast<std::int32_t>(i * 8000) - 2'000'000, right[i] = left[i] / 16;
  std::vector<std::uint8_t> out(6 * kFrames + kPackedMargin_bytes);
  for (auto _ : state) {
    way->pack(left.data(), right.data(), kFrames, kToneAndLeak, out.data());
    benchmark::ClobberMemory();
  }
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(kFrames));
}

void unpack_bits(benchmark::State& state, const BitPacking* way) {
  const std::vector<std::uint8_t> block(6 * kFrames + kPackedMargin_bytes, 0x5A);
  std::vector<float> out(2 * kFrames);
  for (auto _ : state) {
    way->unpack(block.data(), 0, kFrames, kToneAndLeak, 1.0F, out.data());
    benchmark::DoNotOptimize(out.data());
    benchmark::ClobberMemory();
  }
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(kFrames));
}

void look_spectrum(benchmark::State& state) {
  LookSpectrum spectrum(hann_window(4096));
  const auto samples = noise(2 * 4096);
  for (auto _ : state) {
    spectrum.transform(samples.data());
    benchmark::DoNotOptimize(spectrum.power());
  }
  state.SetItemsProcessed(state.iterations() * 4096);
}

void running_medians(benchmark::State& state) {
  std::vector<double> values;
  for (const float x : noise(3750)) values.push_back(static_cast<double>(x));
  for (auto _ : state) benchmark::DoNotOptimize(running_median(values, 70));
  state.SetItemsProcessed(state.iterations() * 3750);
}

}  // namespace

int main(int argc, char** argv) {
  for (const LaneKernels* set : kernels_here()) {
    benchmark::RegisterBenchmark((std::string("hop_sums/") + set->name).c_str(), hop_sums, set);
    benchmark::RegisterBenchmark((std::string("levels/") + set->name).c_str(), levels, set);
  }
  for (const Unpacking* way : unpackings_here()) benchmark::RegisterBenchmark((std::string("pcm24/") + way->name).c_str(), pcm24, way);
  for (const BitPacking* way : bit_packings_here()) {
    benchmark::RegisterBenchmark((std::string("pack_bits/") + way->name).c_str(), pack_bits, way);
    benchmark::RegisterBenchmark((std::string("unpack_bits/") + way->name).c_str(), unpack_bits, way);
  }
  benchmark::RegisterBenchmark("look_spectrum_4096", look_spectrum);
  benchmark::RegisterBenchmark("running_median_141_of_3750", running_medians);
  benchmark::Initialize(&argc, argv);
  benchmark::RunSpecifiedBenchmarks();
}
