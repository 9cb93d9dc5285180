// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the spectra of two real channels by one complex transform.
#pragma once

#include <cassert>
#include <complex>
#include <cstddef>
#include <memory>
#include <vector>

namespace evenwall::internal::numeric {

/// The spectra of two real signals of equal length, bins 0 … size/2.
struct TwoSpectra {
  std::vector<std::complex<double>> left;
  std::vector<std::complex<double>> right;
};

/// Transforms interleaved stereo frames, weighted by a window, into the spectra of both channels.
///
/// FFTW plans with ESTIMATE, so that the same input gives the same bits. Use one object per thread; a lock guards its construction.
class StereoSpectrum {
 public:
  /// Requires: size even and ≥ 4; window.size() == size.
  explicit StereoSpectrum(std::vector<double> window);
  ~StereoSpectrum();
  StereoSpectrum(StereoSpectrum&&) noexcept;
  StereoSpectrum(const StereoSpectrum&) = delete;
  StereoSpectrum& operator=(const StereoSpectrum&) = delete;

  /// `interleaved` holds 2·size samples, left first. X[k] = Σ w[n]·x[n]·exp(−j2πkn/size), unscaled.
  const TwoSpectra& transform(const float* interleaved);
  [[nodiscard]] std::size_t size() const { return window_.size(); }
  [[nodiscard]] double window_sum() const { return window_sum_; }

 private:
  struct Plan;
  std::vector<double> window_;
  double window_sum_ = 0;
  std::unique_ptr<Plan> plan_;
  TwoSpectra spectra_;
};

/// Power spectra of both channels in single precision, for a scan over very many short frames; twice as fast.
///
/// Accuracy: 1e-6 of the strongest line (tests/unit/numeric/fft_test.cpp). Otherwise as StereoSpectrum.
class LookSpectrum {
 public:
  /// Requires: size even and ≥ 4; window.size() == size.
  explicit LookSpectrum(const std::vector<double>& window);
  ~LookSpectrum();
  LookSpectrum(LookSpectrum&&) noexcept;
  LookSpectrum(const LookSpectrum&) = delete;
  LookSpectrum& operator=(const LookSpectrum&) = delete;

  void transform(const float* interleaved);
  [[nodiscard]] std::size_t size() const { return size_; }
  [[nodiscard]] std::size_t bins() const { return size_ / 2 + 1; }
  [[nodiscard]] double window_sum() const { return window_sum_; }
  /// |left|² + |right|² of each bin, 0 … size/2; valid until the next call.
  [[nodiscard]] const std::vector<float>& power();
  /// Both channels of one bin. Requires: bin < bins().
  [[nodiscard]] std::complex<float> left(std::size_t bin) const {
    assert(bin < bins());
    return 0.5F * (at(bin) + mirror(bin));
  }
  [[nodiscard]] std::complex<float> right(std::size_t bin) const {
    assert(bin < bins());
    const std::complex<float> twice = at(bin) - mirror(bin);
    return {0.5F * twice.imag(), -0.5F * twice.real()};
  }

 private:
  struct Plan;
  [[nodiscard]] std::complex<float> at(std::size_t bin) const { return transformed_[bin]; }
  [[nodiscard]] std::complex<float> mirror(std::size_t bin) const { return std::conj(transformed_[bin == 0 ? 0 : size_ - bin]); }

  std::size_t size_;
  double window_sum_ = 0;
  std::vector<float> window_;  // each value twice, for left and right
  std::vector<float> squares_, power_;
  std::unique_ptr<Plan> plan_;
  const std::complex<float>* transformed_;
};

/// Periodic Hann window: w[n] = ½ − ½·cos(2πn/size).
/// Source: F. J. Harris, Proc. IEEE 66(1), 1978, eq. 27 (from memory); the periodic form of G. Heinzel et al. 2002, appendix C (from
/// memory).
std::vector<double> hann_window(std::size_t size);

/// Response of the window to a tone that lies `bins` from the centre of its bin: sinc(x)/(1 − x²), 1 at the centre, ½ one bin away.
double hann_response(double bins);

}  // namespace evenwall::internal::numeric
