// SPDX-License-Identifier: GPL-3.0-or-later
// What a spectrum tells about a passage beside the leak: distortion, noise, and what a third-octave meter would read.
#pragma once

#include <optional>
#include <vector>

#include "evenwall/model.hpp"
#include "numeric/fft.hpp"

namespace evenwall::internal::measure {

/// Gathers spectra of consecutive frames of one tone passage.
class ToneSpectrum {
 public:
  ToneSpectrum(double sample_rate_hz, double frequency_hz, Driven driven);

  [[nodiscard]] std::size_t frame_size() const { return spectrum_.size(); }
  /// Interleaved stereo, 2·frame_size() samples. A frame with a sample that is not a finite number is left out.
  void add_frame(const float* interleaved);

  /// Tone over everything else above about 40 Hz but its harmonics, in the driven channel (the louder one of both); medians over frames.
  [[nodiscard]] OptionalNumber snr_db() const;
  /// Root-sum-square of the 2nd and 3rd harmonic over the fundamental of the driven channel. None where they lie above the audio.
  [[nodiscard]] OptionalNumber distortion_percent() const;
  /// Power in the one-third octave around the tone, quiet over driven channel. None for a passage that drives both.
  [[nodiscard]] OptionalNumber band_db() const;

 private:
  struct Powers {
    double tone, harmonics, rest, driven_band, quiet_band;
  };
  [[nodiscard]] double line_power(const std::vector<float>& power_of, double frequency_hz, std::size_t reach_bins) const;
  [[nodiscard]] double band_power(const std::vector<float>& power_of) const;

  double bin_hz_;
  double frequency_hz_;
  Driven driven_;
  numeric::LookSpectrum spectrum_;   // single precision: 130 dB below the tone, where no record's noise lies
  std::vector<float> left_, right_;  // powers of the frame at hand
  std::vector<Powers> frames_;
};

}  // namespace evenwall::internal::measure
