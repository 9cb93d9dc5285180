// Beside the look for tones: how loud each octave is in each channel, and whether it is filled as noise fills it.
#pragma once

#include <array>
#include <vector>

#include "numeric/fft.hpp"

namespace evenwall {

inline constexpr std::size_t kOctaves = 6;
/// Centre of the lowest octave looked at, Hz; the others are twice the one before.
inline constexpr double kLowestOctave_hz = 250.0;

struct OctaveFrame {
  double middle_s = 0;
  std::array<float, kOctaves> left{}, right{};         ///< mean square, full scale = 1
  std::array<std::complex<float>, kOctaves> shared{};  ///< mean of left·conj(right)
  float fullness =
      -100;  ///< mean ln of the lines' power less ln of its mean, over octaves from 1 kHz up: −0.58 for noise, far below for tones
};

class OctaveScan {
 public:
  void add(double middle_s, const TwoSpectra& spectra, double bin_hz);
  [[nodiscard]] const std::vector<OctaveFrame>& frames() const { return frames_; }

 private:
  std::vector<OctaveFrame> frames_;
};

}  // namespace evenwall
