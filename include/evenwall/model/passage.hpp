// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the passages of a recording and the crosstalk measured in them.
#pragma once

#include <optional>
#include <string>

#include "evenwall/model/audio.hpp"
#include "evenwall/units.hpp"

namespace evenwall {

enum class PassageKind { kTone, kSweep, kNoise };
enum class Driven { kLeft, kRight, kBoth };
enum class Relation { kInPhase, kAntiphase };

struct Passage {
  PassageKind kind = PassageKind::kTone;
  Driven driven = Driven::kBoth;     ///< the channel whose groove wall is cut; the undriven channel receives the crosstalk
  std::optional<Relation> relation;  ///< only for a both-channel passage
  double start_s = 0;
  double end_s = 0;
  OptionalNumber frequency_hz;       ///< tone
  OptionalNumber frequency_from_hz;  ///< sweep
  OptionalNumber frequency_to_hz;
  double level_left_dbfs = 0;  ///< rms of the tone, 0 dBFS = rms of a full-scale sine
  double level_right_dbfs = 0;
  double snr_db = 0;                      ///< of the driven channel: test signal (tone, sweep or noise) over everything else
  OptionalNumber distortion_percent;      ///< 2nd and 3rd harmonic together, in the driven channel
  OptionalNumber third_harmonic_percent;  ///< alone, in the driven channel
  OptionalNumber wow_percent;             ///< once-per-revolution speed variation, peak
};

/// A stretch that resembles a tone but was rejected, with the reason.
struct RejectedStretch {
  double start_s = 0;
  double end_s = 0;
  double frequency_hz = 0;
  Driven driven = Driven::kBoth;
  std::string why;              ///< for people
  double clipped_fraction = 0;  ///< of its samples, if they were examined; otherwise 0
};

/// A complex ratio with the covariance of its real and imaginary parts.
struct ComplexEstimate {
  Complex value;
  double u_re = 0;
  double u_im = 0;
  double correlation = 0;  ///< of the real and imaginary parts
  double u_groove = 0;     ///< the part of both that the groove's lean may add, in the same way at every capture
  /// rms by which the ratio varies within its third octave of ln f, without the part due to noise; 0 for a tone
  double rms_in_third_octave = 0;
};

struct Leak {
  OptionalNumber db;         ///< of re and im, which are gain-free by levels
  OptionalNumber phase_deg;  ///< of re and im; positive: the crosstalk leads the channel that it comes from
  OptionalNumber re;
  OptionalNumber im;
  ComplexEstimate same_passage;  ///< undriven over driven channel, as measured
  OptionalNumber u_re;
  OptionalNumber u_im;
  OptionalNumber band_db;  ///< reading of a one-third-octave meter, undriven over driven channel
};

struct LeakPair {
  double frequency_hz = 0;
  std::optional<Leak> right_into_left;  ///< crosstalk in the left channel during a right-only passage
  std::optional<Leak> left_into_right;  ///< crosstalk in the right channel during a left-only passage
};

}  // namespace evenwall
