// SPDX-License-Identifier: GPL-3.0-or-later
// Passages of a recording, and the crosstalk measured in them.
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
  Driven driven = Driven::kBoth;     ///< the channel whose groove wall is cut; the other one hears the leak
  std::optional<Relation> relation;  ///< of a both-channel passage only
  double start_s = 0;
  double end_s = 0;
  OptionalNumber frequency_hz;       ///< tone
  OptionalNumber frequency_from_hz;  ///< sweep
  OptionalNumber frequency_to_hz;
  double level_left_dbfs = 0;  ///< rms of the tone, 0 dBFS = rms of a full-scale sine
  double level_right_dbfs = 0;
  double snr_db = 0;                  ///< of the driven channel: tone, sweep or noise over everything else
  OptionalNumber distortion_percent;  ///< 2nd and 3rd harmonic of the driven channel
  OptionalNumber wow_percent;         ///< once-per-revolution speed variation, peak
};

/// A stretch that sounds like a tone at first sight, and why it is no passage.
struct RejectedStretch {
  double start_s = 0;
  double end_s = 0;
  double frequency_hz = 0;
  Driven driven = Driven::kBoth;
  std::string why;              ///< for people
  double clipped_fraction = 0;  ///< of its samples, where it was listened to
};

/// A complex ratio with the covariance of its real and imaginary part.
struct ComplexEstimate {
  Complex value;
  double u_re = 0;
  double u_im = 0;
  double correlation = 0;  ///< of the real and imaginary part
  double u_groove = 0;     ///< the part of both that the groove brings at every capture alike: what its lean may hide
};

struct Leak {
  OptionalNumber db;         ///< gain-free by levels, as re and im
  OptionalNumber phase_deg;  ///< of re and im; positive: the leak leads the channel it came from
  OptionalNumber re;
  OptionalNumber im;
  ComplexEstimate same_passage;  ///< quiet over driven channel, as seen
  OptionalNumber u_re;
  OptionalNumber u_im;
  OptionalNumber band_db;  ///< what a one-third-octave meter would read, quiet over driven channel
};

struct LeakPair {
  double frequency_hz = 0;
  std::optional<Leak> right_into_left;  ///< what the left channel hears of a right-only passage
  std::optional<Leak> left_into_right;  ///< what the right channel hears of a left-only passage
};

}  // namespace evenwall
