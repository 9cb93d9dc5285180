// SPDX-License-Identifier: GPL-3.0-or-later
// One-third-octave bands, base ten, and what a passage that covers many of them tells of each.
#pragma once

#include <vector>

#include "measure/listen.hpp"
#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {

/// Exact centres 1000·10^(n/10) Hz of the bands that lie between two frequencies whole (to 1 %), ascending.
/// Source: IEC 61260-1:2014, base-ten system (from memory).
std::vector<double> third_octave_centres(double low_hz, double high_hz);

/// The ratio of the channels in one band.
struct BandRatio {
  double frequency_hz = 0;
  ComplexEstimate ratio;  ///< quiet over driven channel; left over right where both are driven
  double ln_level = 0;    ///< ln of the driven channel's amplitude, full scale = 1 (both: of the right one's)
  double u_ln_level = 0;
  OptionalNumber band_db;
};

/// A sweep or noise passage heard closely. `overall` has no ratio of its own; its warp is that of the whole passage.
struct HeardBands {
  HeardPassage overall;
  std::vector<BandRatio> bands;  ///< frequencies ascending
  /// Set where the response bends so fast that the once-per-revolution amplitude taken out (degrees) may be its own.
  OptionalNumber doubtful_warp_deg{};
};

/// The band values at a frequency, straight between centres in ln f. Nothing outside the outermost bands.
std::optional<BandRatio> at_frequency(const std::vector<BandRatio>& bands, double frequency_hz);

}  // namespace evenwall::internal::measure
