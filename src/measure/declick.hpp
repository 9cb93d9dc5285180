// SPDX-License-Identifier: GPL-3.0-or-later
// Removes clicks from the samples of a tone, for crackle so dense that hardly any frame is free of clicks.
#pragma once

#include <vector>

#include "measure/passages.hpp"

namespace evenwall::internal::measure {

/// Gives the cleaned stretch at its original place in time; the frames before it are silent. The stretch is cleaned window by window while
/// it is read forward, so that memory does not grow with its length or with the sample rate.
///
/// A sample is a click if it differs from the tone by more than 4.5 robust standard deviations. A click in either channel is replaced in
/// both channels, so that it cannot change their ratio. The replacement is the tone plus a straight line between the rest of the signal on
/// the two sides of the gap, so that low-frequency noise is not interrupted.
class DeclickedStretch : public AudioSource {
 public:
  /// first, last: stereo frames. The source is kept by reference. Requires: 0 ≤ first < last.
  DeclickedStretch(AudioSource& source, std::int64_t first, std::int64_t last, double frequency_hz);

  [[nodiscard]] const AudioInfo& info() const override { return info_; }
  [[nodiscard]] std::int64_t frames() const override { return last_; }
  /// Throws: Error(kInput) if the source fails.
  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override;
  /// Share of the frames that were replaced, among those cleaned so far.
  [[nodiscard]] double replaced_fraction() const;

 private:
  static constexpr std::int64_t kWindowFrames = 500'000;  // 10 s at 48 kHz; cleaning takes 20 MB
  static constexpr std::int64_t kWindowMargin = 20'000;   // on both sides, so that no returned frame lies near a window's end
  void clean_window(std::int64_t index);

  AudioSource& source_;
  AudioInfo info_;
  std::int64_t first_, last_;
  double frequency_hz_;
  std::vector<float> cleaned_;  // samples of one window with its margins
  std::int64_t cleaned_from_ = 0;
  std::int64_t window_ = -1;
  std::int64_t seen_ = 0, replaced_ = 0;
};

}  // namespace evenwall::internal::measure
