// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/joined_source.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "evenwall/error.hpp"

namespace evenwall::internal::audio {
namespace {

constexpr double kSilence_s = 0.5;

/// A stretch in frames of its source.
struct Part {
  std::unique_ptr<AudioSource> audio;
  std::int64_t first = 0, count = 0;
};

Part part_of(SourceStretch stretch) {
  const double rate_hz = stretch.audio->info().sample_rate_hz;
  const std::int64_t frames = stretch.audio->frames();
  const auto frame_at = [&](double time_s) {
    return static_cast<std::int64_t>(std::clamp(std::floor(time_s * rate_hz), 0.0, static_cast<double>(frames)));
  };
  const std::int64_t first = frame_at(stretch.from_s.value_or(0));
  const std::int64_t last = stretch.to_s ? frame_at(*stretch.to_s) : frames;
  return {std::move(stretch.audio), first, std::max<std::int64_t>(0, last - first)};
}

class JoinedSource : public AudioSource {
 public:
  JoinedSource(Part first, Part second) : first_(std::move(first)), second_(std::move(second)), info_(first_.audio->info()) {
    silence_ = std::llround(kSilence_s * info_.sample_rate_hz);
    info_.duration_s = static_cast<double>(frames()) / info_.sample_rate_hz;
  }
  [[nodiscard]] const AudioInfo& info() const override { return info_; }
  [[nodiscard]] std::int64_t frames() const override { return first_.count + silence_ + second_.count; }

  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override {
    std::int64_t done = 0;
    while (done < count && first + done < frames()) {
      const std::int64_t got = read_piece(first + done, count - done, out + 2 * done);
      if (got <= 0) break;
      done += got;
    }
    return done;
  }

 private:
  /// Reads what lies in one of the three parts.
  std::int64_t read_piece(std::int64_t at, std::int64_t count, float* out) {
    if (at < first_.count) return first_.audio->read(first_.first + at, std::min(count, first_.count - at), out);
    const std::int64_t beyond = at - first_.count;
    if (beyond < silence_) {
      const std::int64_t silent = std::min(count, silence_ - beyond);
      std::fill_n(out, 2 * silent, 0.0F);
      return silent;
    }
    const std::int64_t inside = beyond - silence_;
    return second_.audio->read(second_.first + inside, std::min(count, second_.count - inside), out);
  }

  Part first_, second_;
  std::int64_t silence_ = 0;
  AudioInfo info_;
};

}  // namespace

std::unique_ptr<AudioSource> joined_source(SourceStretch first, SourceStretch second) {
  if (first.audio->info().sample_rate_hz != second.audio->info().sample_rate_hz)
    throw Error(ErrorKind::kInput, "the two recordings have different sample rates. They are not joined. Record both alike.");
  return std::make_unique<JoinedSource>(part_of(std::move(first)), part_of(std::move(second)));
}

}  // namespace evenwall::internal::audio
