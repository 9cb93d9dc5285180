// SPDX-License-Identifier: GPL-3.0-or-later
// Computes both channels' complex amplitude at one frequency, frame by frame.
#pragma once

#include <array>
#include <cstdint>
#include <utility>
#include <vector>

#include "evenwall/model.hpp"
#include "numeric/lanes.hpp"
#include "numeric/matrix.hpp"

namespace evenwall::internal::measure {

/// Hann-weighted frames of four hops each, one every hop.
struct LockInFrames {
  double hop_s = 0;
  double first_middle_s = 0;  ///< middle of frame 0, from the start of the capture
  std::vector<Complex> left;  ///< amplitude (full scale = 1) and phase against one steady oscillator
  std::vector<Complex> right;
  [[nodiscard]] double middle_s(std::size_t frame) const { return first_middle_s + hop_s * static_cast<double>(frame); }
};

/// Demodulates blocks of audio at one frequency.
///
/// A Hann window consists of three steady oscillators. Each hop of samples is therefore multiplied by three oscillators and summed once,
/// and every frame is computed from the sums of its four hops. Frames with a sample that is not a finite number are set to zero.
class LockIn {
 public:
  /// Requires: 0 < frequency_hz < sample_rate_hz/2.
  LockIn(double sample_rate_hz, double frequency_hz, double start_s);

  [[nodiscard]] std::size_t hop_frames() const { return hop_; }
  /// Adds one hop of interleaved stereo samples: 2·hop_frames() values. Returns their levels, too, because every sample is read here.
  numeric::StereoLevels add_hop(const float* interleaved);
  [[nodiscard]] const LockInFrames& frames() const& { return frames_; }
  [[nodiscard]] LockInFrames frames() && { return std::move(frames_); }

 private:
  static constexpr std::size_t kHopsPerFrame = 4;
  using Turned = std::array<Complex, numeric::kOscillators>;  // sums at f, f − 1/frame, f + 1/frame
  using LastHops = std::array<Turned, kHopsPerFrame>;         // hop h is stored at h % kHopsPerFrame
  [[nodiscard]] Complex frame_amplitude(const LastHops& hops, std::size_t first) const;

  std::size_t hop_;
  std::array<double, numeric::kOscillators> step_rad_{};            // phase step per sample of each oscillator
  std::array<Complex, numeric::kOscillators> hop_turn_{}, back_{};  // phase factors of one hop, and of all hops so far
  std::vector<float> tables_;                                       // oscillators over one hop, in the layout of LaneKernels::hop_sums
  std::array<LastHops, 2> last_{};                                  // the last hops of each channel
  std::size_t hops_ = 0;
  LockInFrames frames_;
};

}  // namespace evenwall::internal::measure
