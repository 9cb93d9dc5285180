// SPDX-License-Identifier: GPL-3.0-or-later
// The close listening: both channels' complex amplitude at one frequency, frame by frame.
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
/// A Hann window is three steady oscillators, so each hop of samples is summed once against three of them and every frame is put
/// together from the sums of its four hops. A hop with a sample that is not a finite number spoils its frames: they are zero.
class LockIn {
 public:
  /// Requires: 0 < frequency_hz < sample_rate_hz/2.
  LockIn(double sample_rate_hz, double frequency_hz, double start_s);

  [[nodiscard]] std::size_t hop_frames() const { return hop_; }
  /// One hop of interleaved stereo samples: 2·hop_frames() values. Returns their levels, as each is in hand anyway.
  numeric::StereoLevels add_hop(const float* interleaved);
  [[nodiscard]] const LockInFrames& frames() const& { return frames_; }
  [[nodiscard]] LockInFrames frames() && { return std::move(frames_); }

 private:
  static constexpr std::size_t kHopsPerFrame = 4;
  using Turned = std::array<Complex, numeric::kOscillators>;  // at f, f − 1/frame, f + 1/frame
  using LastHops = std::array<Turned, kHopsPerFrame>;         // hop h at h % kHopsPerFrame
  [[nodiscard]] Complex frame_amplitude(const LastHops& hops, std::size_t first) const;

  std::size_t hop_;
  std::array<double, numeric::kOscillators> step_rad_{};            // phase step per sample of each oscillator
  std::array<Complex, numeric::kOscillators> hop_turn_{}, back_{};  // of one hop, and of all so far
  std::vector<float> tables_;                                       // of one hop, as LaneKernels::hop_sums takes them
  std::array<LastHops, 2> last_{};                                  // of each channel
  std::size_t hops_ = 0;
  LockInFrames frames_;
};

}  // namespace evenwall::internal::measure
