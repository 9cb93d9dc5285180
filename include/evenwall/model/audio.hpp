// SPDX-License-Identifier: GPL-3.0-or-later
// Recordings as samples, and what every later stage uses: optional numbers, intervals, warnings.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "evenwall/model/warning.hpp"

namespace evenwall {

using OptionalNumber = std::optional<double>;
using Interval = std::array<double, 2>;

struct AudioInfo {
  double sample_rate_hz = 0;
  int channels = 2;
  double duration_s = 0;  ///< as declared; replaced by what was read once the analysis has read it
  std::string encoding;   ///< for people: "WAV PCM 24-bit"
};

/// Stereo audio as interleaved floats (left first, full scale 1.0), read by position so that a long capture never sits in memory whole.
class AudioSource {
 public:
  AudioSource() = default;
  AudioSource(const AudioSource&) = delete;
  AudioSource& operator=(const AudioSource&) = delete;
  virtual ~AudioSource() = default;

  [[nodiscard]] virtual const AudioInfo& info() const = 0;
  /// Number of stereo frames.
  [[nodiscard]] virtual std::int64_t frames() const = 0;
  /// Reads up to `count` frames from `first` on into out[0 .. 2·count). Returns the frames read; fewer than asked only at the end.
  /// Reading forward is cheap, reading backward may not be. Throws: Error(kInput) where the medium fails.
  virtual std::int64_t read(std::int64_t first, std::int64_t count, float* out) = 0;
};

}  // namespace evenwall
