// SPDX-License-Identifier: GPL-3.0-or-later
// Measures, beside the scan for tones, how loud each octave is in each channel and whether noise fills it.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "measure/method_constants.hpp"
#include "numeric/fft.hpp"

namespace evenwall::internal::measure {

/// The octaves of one look, a Hann frame of the scan.
struct OctaveFrame {
  float bin_hz = 0;                                    ///< spacing of the lines
  std::array<float, kOctaves> left{}, right{};         ///< mean square, full scale = 1
  std::array<std::complex<float>, kOctaves> shared{};  ///< mean of left·conj(right)
  float fullness =
      -100;  ///< mean ln of the lines' power less ln of its mean, over octaves from 1 kHz up; −0.58 for noise, far less for tones
};
OctaveFrame octave_frame(const numeric::LookSpectrum& spectrum, double bin_hz);

/// Summary of kOctaveBlockFrames looks: medians of levels and fullness, and the coherence of the channels, 0 to 1.
struct OctaveBlock {
  std::array<float, kOctaves> left_db{}, right_db{}, shared{};
  float fullness = -100;
  /// How much the louder channel's octaves from 1 kHz up change from look to look, divided by the value of steady noise.
  float unrest = 0;
};

/// All looks of a capture. To save memory it keeps the octaves of each block, and of each look only the total power to 0.01 dB.
class OctaveScan {
 public:
  /// Reserves memory for that many looks, so that no table is copied while it grows.
  void reserve(std::size_t looks);
  /// Requires: successive looks are one constant step apart.
  void add(double middle_s, const OctaveFrame& frame);
  [[nodiscard]] const std::vector<OctaveBlock>& blocks() const { return blocks_; }
  [[nodiscard]] std::size_t looks() const { return power_.size(); }
  [[nodiscard]] double middle_s(std::size_t look) const { return first_s_ + step_s_ * static_cast<double>(look); }
  /// Power of all octaves of a channel together.
  [[nodiscard]] double left_power_db(std::size_t look) const { return 0.01 * power_[look].left; }
  [[nodiscard]] double right_power_db(std::size_t look) const { return 0.01 * power_[look].right; }
  /// Number of octaves that fit below the limit of the sample rate.
  [[nodiscard]] std::size_t octaves() const { return octaves_; }

 private:
  void close_block();
  [[nodiscard]] double unrest(const OctaveBlock& block) const;

  struct Power {
    std::int16_t left, right;  ///< hundredths of a decibel
  };
  std::vector<Power> power_;
  std::vector<OctaveBlock> blocks_;
  std::vector<OctaveFrame> open_;  ///< looks of the unfinished block
  double first_s_ = 0;
  double step_s_ = 0;
  std::size_t octaves_ = 0;
};

/// Decibels of a mean square; finite even for 0.
double db_of_power(double power);

}  // namespace evenwall::internal::measure
