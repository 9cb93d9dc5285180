// Spectra of two real channels by one complex transform.
#pragma once

#include <complex>
#include <cstddef>
#include <memory>
#include <vector>

namespace evenwall {

/// The spectra of two real signals of equal length, bins 0 … size/2.
struct TwoSpectra {
  std::vector<std::complex<double>> left;
  std::vector<std::complex<double>> right;
};

/// Transforms interleaved stereo frames, weighted by a window, into the spectra of both channels.
///
/// Plans by ESTIMATE, so that the same input gives the same bits. One object a thread; making one is guarded by a lock.
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

/// Periodic Hann window: w[n] = ½ − ½·cos(2πn/size).
/// Source: F. J. Harris, Proc. IEEE 66(1), 1978, eq. 27 (from memory); the periodic form of G. Heinzel et al. 2002, appendix C (from
/// memory).
std::vector<double> hann_window(std::size_t size);

}  // namespace evenwall
