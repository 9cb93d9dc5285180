// SPDX-License-Identifier: GPL-3.0-or-later
// Provides the most time-consuming loops over samples, in one form for each kind of processor.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

namespace evenwall::internal::numeric {

/// Largest magnitude and sum of each channel, left first. Any of them may be non-finite if a sample is.
struct StereoLevels {
  std::array<float, 2> largest{};
  std::array<double, 2> sum{};
  bool finite = true;  ///< every sample is a finite number
};

inline constexpr std::size_t kOscillators = 3;
/// Σ x·cos and Σ x·sin of one channel against each oscillator.
struct TurningSums {
  std::array<double, kOscillators> cosine{}, sine{};
};

/// Sums over one hop of a tone.
struct HopSums {
  std::array<TurningSums, 2> turning;  ///< left, right
  StereoLevels levels;                 ///< of the same samples, as LaneKernels::levels gives them
};

/// One set of kernels. All sets add the same eight lanes in the same order, without fused multiply-add: their results are bit-identical.
struct LaneKernels {
  const char* name;
  /// samples: interleaved stereo, 2·frames. tables: cosine then sine of each oscillator, each value twice: 2·kOscillators rows of
  /// 2·frames. Accuracy: single precision, 1e-6 of Σ|x|/frames for up to 1024 frames (tests/unit/numeric/lanes_test.cpp). Not finite if a
  /// sample is not.
  HopSums (*hop_sums)(const float* samples, const float* tables, std::size_t frames);
  /// Accuracy: `largest` exact, `sum` to 1e-6 of Σ|x|.
  StereoLevels (*levels)(const float* samples, std::size_t frames);
};

/// The kernels for any processor.
const LaneKernels& plain_kernels();
/// All sets that this processor can run, plain_kernels() first, the fastest last.
std::vector<const LaneKernels*> kernels_here();
const LaneKernels& fastest_kernels();

}  // namespace evenwall::internal::numeric
