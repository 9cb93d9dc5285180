// A stretch of a tone with the clicks taken out of its samples, for crackle so dense that hardly a frame is without one.
#pragma once

#include <vector>

#include "measure/passages.hpp"

namespace evenwall {

/// The stretch in memory, at its own place in time; outside of it there is silence.
///
/// What stands out of the tone by more than 4.5 robust standard deviations is a click, in both channels at once where in either: then it
/// can't change their ratio. The gap takes the tone itself and a straight line between what is left of the signal on its two sides, so that
/// low-frequency noise is not torn.
class DeclickedStretch : public AudioSource {
 public:
  /// first, last: stereo frames. Requires: 0 ≤ first < last. Throws: Error(kInput) where the source fails.
  DeclickedStretch(AudioSource& source, std::int64_t first, std::int64_t last, double frequency_hz);

  [[nodiscard]] const AudioInfo& info() const override { return info_; }
  [[nodiscard]] std::int64_t frames() const override { return first_ + static_cast<std::int64_t>(cleaned_.size() / 2); }
  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override;
  [[nodiscard]] double replaced_fraction() const { return replaced_fraction_; }

 private:
  AudioInfo info_;
  std::int64_t first_;
  std::vector<float> cleaned_;
  double replaced_fraction_ = 0;
};

}  // namespace evenwall
