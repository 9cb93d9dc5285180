// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the one-third-octave bands, base ten, and the ratio that a sweep or noise passage gives in each of them.
#pragma once

#include <vector>

#include "measure/listen.hpp"
#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {

/// Exact centres 1000·10^(n/10) Hz of the bands that lie wholly (to 1 %) between two frequencies, ascending.
/// Source: IEC 61260-1:2014, base-ten system (from memory).
std::vector<double> third_octave_centres(double low_hz, double high_hz);

/// The ratio of the channels in one band.
struct BandRatio {
  double frequency_hz = 0;
  ComplexEstimate ratio;  ///< undriven over driven channel; left over right if both are driven
  double ln_level = 0;    ///< ln of the driven channel's amplitude, full scale = 1; of the right channel if both are driven
  double u_ln_level = 0;
  OptionalNumber band_db;
};

/// The result of one sweep or noise passage. `overall` has no ratio; its warp is that of the whole passage.
struct HeardBands {
  HeardPassage overall;
  std::vector<BandRatio> bands;  ///< frequencies ascending
  /// Amplitude once per revolution that was subtracted, degrees; set if the response bends so fast that it may belong to the response.
  OptionalNumber doubtful_warp_deg{};
};

/// Band values at a frequency, linear in ln f between the centres. Nothing beyond the outermost centres (to 1 %).
std::optional<BandRatio> at_frequency(const std::vector<BandRatio>& bands, double frequency_hz);

}  // namespace evenwall::internal::measure
