// SPDX-License-Identifier: GPL-3.0-or-later
// A capture -> Measurement; captures of the electronics -> Calibration.
#pragma once

#include <vector>

#include "evenwall/model.hpp"

namespace evenwall {

struct MeasureOptions {
  OptionalNumber frequency_hz;  ///< matched within ±5 %; default: the tone both channels have that lies nearest 1 kHz
  OptionalNumber rpm;           ///< turns a minute: what recurs with them is the groove's lean, and is taken out; default: found
  std::vector<Band> bands;      ///< order on the record, where known
  OptionalNumber from_s;        ///< stretch of the capture to analyse, 0 or later; what lies outside of the capture is none of it
  OptionalNumber to_s;
};

/// Finds the passages of a capture and measures what leaks each way.
///
/// Ratios are complex, quiet over driven channel of the same passage.
/// Throws: Error(kData) where no left-only or right-only passage can be measured (silence, one channel, none found), naming what was
/// found; Error(kInput) where the source fails.
/// Accuracy: in white noise the variance of each leak is within 1.15 of the Cramér–Rao bound (tests/truth).
Measurement measure(AudioSource& source, const MeasureOptions& options);

/// What `measure` hears in the same capture and leaves out, in time order; what lasts less than 0.3 s is not named.
///
/// Works where `measure` has no answer, too. Throws: Error(kInput) where the source fails.
std::vector<RejectedStretch> rejected_stretches(AudioSource& source, const MeasureOptions& options);

/// The electronics' matrix at every tone that was injected left only and right only, from the same-passage ratios of any number of
/// measurements.
///
/// Tones within 3 % are one; several playings are weighted by their variances. A tone with one side
/// only is left out, with the warning `missing_passage`.
/// Throws: Error(kData) where no tone has both sides, naming what is missing.
Calibration calibrate(const std::vector<Measurement>& measurements);

}  // namespace evenwall
