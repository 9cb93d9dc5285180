// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/third_octaves.hpp"

#include <algorithm>
#include <cmath>

#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {
namespace {

ComplexEstimate between(const ComplexEstimate& a, const ComplexEstimate& b, double share) {
  // Adjacent bands of one passage are partly correlated. Treating them as fully correlated never makes the uncertainty too small.
  return {(1 - share) * a.value + share * b.value,
          (1 - share) * a.u_re + share * b.u_re,
          (1 - share) * a.u_im + share * b.u_im,
          (1 - share) * a.correlation + share * b.correlation,
          0,
          (1 - share) * a.rms_in_third_octave + share * b.rms_in_third_octave};
}

}  // namespace

std::vector<double> third_octave_centres(double low_hz, double high_hz) {
  std::vector<double> centres;
  const double half = std::exp(kHalfThirdOctave);
  for (int n = -20; n <= 20; ++n) {
    const double centre = 1000.0 * std::pow(10.0, n / 10.0);
    if (centre / half >= low_hz * (1 - kEdgeSlack) && centre * half <= high_hz * (1 + kEdgeSlack)) centres.push_back(centre);
  }
  return centres;
}

std::optional<BandRatio> at_frequency(const std::vector<BandRatio>& bands, double frequency_hz) {
  if (bands.empty() || frequency_hz < bands.front().frequency_hz * (1 - kEdgeSlack) ||
      frequency_hz > bands.back().frequency_hz * (1 + kEdgeSlack)) {
    return std::nullopt;
  }
  const auto above =
      std::lower_bound(bands.begin(), bands.end(), frequency_hz, [](const BandRatio& b, double hz) { return b.frequency_hz < hz; });
  if (above == bands.begin()) return bands.front();
  if (above == bands.end()) return bands.back();
  const BandRatio& a = *(above - 1);
  const BandRatio& b = *above;
  const double share = std::log(frequency_hz / a.frequency_hz) / std::log(b.frequency_hz / a.frequency_hz);
  if (share <= 0) return a;
  if (share >= 1) return b;
  BandRatio result{frequency_hz, between(a.ratio, b.ratio, share), (1 - share) * a.ln_level + share * b.ln_level,
                   std::max(a.u_ln_level, b.u_ln_level), std::nullopt};
  if (a.band_db && b.band_db) result.band_db = (1 - share) * *a.band_db + share * *b.band_db;
  return result;
}

}  // namespace evenwall::internal::measure
