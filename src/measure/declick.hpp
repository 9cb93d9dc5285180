// SPDX-License-Identifier: GPL-3.0-or-later
// A stretch of a tone with the clicks taken out of its samples, for crackle so dense that hardly a frame is without one.
#pragma once

#include <vector>

#include "measure/passages.hpp"

namespace evenwall::internal::measure {

/// The stretch at its own place in time, cleaned a window at a time as it is read forward, so that memory does not grow with it or with the
/// sample rate; before it there is silence.
///
/// What stands out of the tone by more than 4.5 robust standard deviations is a click, in both channels at once where in either: then it
/// can't change their ratio. The gap takes the tone itself and a straight line between what is left of the signal on its two sides, so that
/// low-frequency noise is not torn.
class DeclickedStretch : public AudioSource {
 public:
  /// first, last: stereo frames. The source is kept by reference. Requires: 0 ≤ first < last.
  DeclickedStretch(AudioSource& source, std::int64_t first, std::int64_t last, double frequency_hz);

  [[nodiscard]] const AudioInfo& info() const override { return info_; }
  [[nodiscard]] std::int64_t frames() const override { return last_; }
  /// Throws: Error(kInput) if the source fails.
  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override;
  /// Of what was read so far.
  [[nodiscard]] double replaced_fraction() const;

 private:
  static constexpr std::int64_t kWindowFrames = 500'000;  // 10 s at 48 kHz; 20 MB while it is cleaned
  static constexpr std::int64_t kWindowMargin = 20'000;   // on both sides, so that no window ends near a frame that is given out
  void clean_window(std::int64_t index);

  AudioSource& source_;
  AudioInfo info_;
  std::int64_t first_, last_;
  double frequency_hz_;
  std::vector<float> cleaned_;  // of one window with its margins
  std::int64_t cleaned_from_ = 0;
  std::int64_t window_ = -1;
  std::int64_t seen_ = 0, replaced_ = 0;
};

}  // namespace evenwall::internal::measure
