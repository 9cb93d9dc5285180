// SPDX-License-Identifier: GPL-3.0-or-later
// Declares the interface to a recording's samples, and the types of optional numbers and intervals that all later stages use.
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
  double duration_s = 0;  ///< as the file declares it; `measure` replaces it by the length that was read
  std::string encoding;   ///< for people: "WAV PCM 24-bit"
  /// SHA-256 of all frames of the file (docs/formats.md, "SHA-256 of the frames"); "… + …" for two recordings that were joined; absent: not
  /// requested.
  std::optional<std::string> sha256{};
};

/// Stereo audio as interleaved floats (left first, full scale 1.0). It is read by position, so that memory does not
/// grow with the length of a capture.
class AudioSource {
 public:
  AudioSource() = default;
  AudioSource(const AudioSource&) = delete;
  AudioSource& operator=(const AudioSource&) = delete;
  virtual ~AudioSource() = default;

  [[nodiscard]] virtual const AudioInfo& info() const = 0;
  /// Number of stereo frames.
  [[nodiscard]] virtual std::int64_t frames() const = 0;
  /// Reads up to `count` frames from `first` on into out[0 .. 2·count). Returns the number of frames read, which is
  /// less than `count` only at the end. Reading forward is cheap; reading backward may be slow. Throws: Error(kInput) if the medium fails.
  virtual std::int64_t read(std::int64_t first, std::int64_t count, float* out) = 0;
};

}  // namespace evenwall
