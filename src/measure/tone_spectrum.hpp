// SPDX-License-Identifier: GPL-3.0-or-later
// Measures distortion, noise and the reading of a third-octave meter from the spectra of a tone passage.
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
  /// Interleaved stereo, 2·frame_size() samples. A frame with a sample that is not a finite number is excluded.
  void add_frame(const float* interleaved);

  /// Tone over everything else above about 40 Hz except its second and third harmonic, in the driven channel; in the louder channel if both
  /// are driven. Medians over frames.
  [[nodiscard]] OptionalNumber snr_db() const;
  /// Root-sum-square of the 2nd and 3rd harmonic over the fundamental of the driven channel. Nothing if they lie above the spectrum.
  [[nodiscard]] OptionalNumber distortion_percent() const;
  /// The 3rd harmonic alone, as above, without the noise in its lobe.
  [[nodiscard]] OptionalNumber third_harmonic_percent() const;
  /// Power in the one-third octave around the tone, undriven over driven channel. Nothing for a passage that drives both.
  [[nodiscard]] OptionalNumber band_db() const;

 private:
  struct Powers {
    double tone, harmonics, third, rest, driven_band, quiet_band;
  };
  /// Root of the median power over that of the fundamental. Nothing if the 3rd harmonic lies above the spectrum.
  [[nodiscard]] OptionalNumber percent_of_tone(double Powers::*power) const;
  [[nodiscard]] double line_power(const std::vector<float>& power_of, double frequency_hz, std::size_t reach_bins) const;
  [[nodiscard]] double band_power(const std::vector<float>& power_of) const;

  double bin_hz_;
  double frequency_hz_;
  Driven driven_;
  numeric::LookSpectrum spectrum_;   // single precision; its errors lie 130 dB below the tone, under the noise of every record
  std::vector<float> left_, right_;  // powers of the current frame
  std::vector<Powers> frames_;
};

}  // namespace evenwall::internal::measure
