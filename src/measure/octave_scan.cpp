#include "measure/octave_scan.hpp"

#include <cmath>
#include <numbers>

namespace evenwall {
namespace {

constexpr std::size_t kFirstFull = 2;  // the octave of 1 kHz: from here on a frame has thirty lines and more in each
constexpr double kHighestShare = 0.9;  // of the lines: above, converters cut
constexpr double kLeastPower = 1e-300;

}  // namespace

void OctaveScan::add(double middle_s, const TwoSpectra& spectra, double bin_hz) {
  OctaveFrame frame;
  frame.middle_s = middle_s;
  // Mean square of a real signal from one side of its Hann-weighted spectrum: 2/(N·Σw²), Σw² = 3N/8.
  const double size = 2.0 * static_cast<double>(spectra.left.size() - 1);
  const double scale = 2.0 / (size * 0.375 * size);
  const auto highest = static_cast<std::size_t>(kHighestShare * static_cast<double>(spectra.left.size()));
  double fullness = 0;
  int full_octaves = 0;
  for (std::size_t o = 0; o < kOctaves; ++o) {
    const double centre_hz = kLowestOctave_hz * std::exp2(static_cast<double>(o));
    const auto first = static_cast<std::size_t>(std::ceil(centre_hz / std::numbers::sqrt2 / bin_hz));
    const auto last = static_cast<std::size_t>(std::floor(centre_hz * std::numbers::sqrt2 / bin_hz));
    if (last >= highest) break;
    double left = 0, right = 0, logs = 0;
    std::complex<double> shared = 0;
    for (std::size_t k = first; k <= last; ++k) {
      const double l = std::norm(spectra.left[k]);
      const double r = std::norm(spectra.right[k]);
      left += l;
      right += r;
      shared += spectra.left[k] * std::conj(spectra.right[k]);
      logs += std::log(l + r + kLeastPower);
    }
    frame.left[o] = static_cast<float>(scale * left);
    frame.right[o] = static_cast<float>(scale * right);
    frame.shared[o] = std::complex<float>(scale * shared);
    if (o < kFirstFull) continue;
    const auto lines = static_cast<double>(last - first + 1);
    fullness += logs / lines - std::log((left + right) / lines + kLeastPower);
    ++full_octaves;
  }
  if (full_octaves > 0) frame.fullness = static_cast<float>(fullness / full_octaves);
  frames_.push_back(frame);
}

}  // namespace evenwall
