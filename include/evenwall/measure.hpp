// SPDX-License-Identifier: GPL-3.0-or-later
// Measures the crosstalk in a capture, and the electronics' crosstalk from several captures.
#pragma once

#include <optional>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall {

struct MeasureOptions {
  OptionalNumber frequency_hz;  ///< matched within ±5 %; default: the tone nearest 1 kHz that both channels have
  OptionalNumber rpm;           ///< turns per minute; the groove's lean, which recurs with each turn, is subtracted; default: found
  std::vector<Band> bands;      ///< order on the record, if known
  OptionalNumber from_s;        ///< start of the stretch to analyse, 0 or later; the stretch is limited to the capture
  OptionalNumber to_s;
};

/// Finds the passages of a capture and measures the crosstalk in both directions.
///
/// Ratios are complex, undriven over driven channel of the same passage.
/// Throws: Error(kData) if no left-only or right-only passage can be measured (silence, one channel, no passage found), with what was
/// found; Error(kInput) if the source fails.
/// Accuracy: in white noise the variance of each crosstalk ratio is within 1.15 of the Cramér–Rao bound (tests/truth).
Measurement measure(AudioSource& source, const MeasureOptions& options);

/// The tone-like stretches of a capture that `measure` rejects, in time order. Stretches shorter than 0.3 s are not listed.
///
/// Also works if `measure` finds no result. Throws: Error(kInput) if the source fails.
std::vector<RejectedStretch> rejected_stretches(AudioSource& source, const MeasureOptions& options);

/// A part of a recording that was made at one setting of the tilt, in seconds from the start of the recording.
struct SettingStretch {
  double from_s = 0;
  double to_s = 0;
};

/// The settings in a recording, in time order. A setting is a series of passages in which no band recurs; with `bands`, a series of all of
/// them. Series without a left-only or without a right-only passage are omitted. The limits lie in the middle of the pauses.
std::vector<SettingStretch> settings_in(const Measurement& measurement, const std::vector<Band>& bands);

/// A warning if the measurement is that of a record, which must not be used as a calibration of the electronics.
///
/// The signs are a pitch that wanders, and a band in both channels. Nothing is found in sweeps of one channel and in tones of less than 1
/// s. Accuracy: a wow of 0.02 % is found, and an oscillator that drifts by 10 ppm each second is accepted (tests/unit/measure).
std::optional<Warning> record_in_calibration(const Measurement& measurement);

/// Computes the electronics' matrix at every tone that was injected left only and right only, from the same-passage ratios of any number
/// of measurements.
///
/// Tones within 3 % of each other count as one tone. Repeated measurements of a tone are weighted by their variances. A tone with only
/// one side is excluded, with the warning `missing_passage`.
/// Throws: Error(kData) if no tone has both sides, with what is missing; if a measurement is that of a record.
Calibration calibrate(const std::vector<Measurement>& measurements);

}  // namespace evenwall
