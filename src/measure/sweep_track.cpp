// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sweep_track.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "measure/method_constants.hpp"
#include "numeric/fft.hpp"

namespace evenwall::internal::measure {
namespace {

/// One sample of both channels multiplied by the law's oscillator, and by one at 1.5 times its frequency.
struct Turned {
  Complex left, right, beside_left, beside_right;
};

/// Holds the samples multiplied by the law's oscillator, as long as windows still need them.
class TurnedSamples {
 public:
  TurnedSamples(AudioSource& source, const SweepLaw& law, std::int64_t first, Track& track)
      : source_(source), law_(law), rate_hz_(source.info().sample_rate_hz), first_(first), track_(track), block_(2 * kTrackBlockFrames) {}

  /// Makes [from, to) available. Returns false if the audio ends before.
  bool have(std::int64_t from, std::int64_t to) {
    if (from >= first_ + static_cast<std::int64_t>(kTrackBlockFrames)) {
      const auto done = std::min<std::int64_t>(from - first_, static_cast<std::int64_t>(samples_.size()));
      samples_.erase(samples_.begin(), samples_.begin() + done);
      first_ += done;
    }
    while (first_ + static_cast<std::int64_t>(samples_.size()) < to) {
      if (!read_block()) return false;
    }
    return true;
  }
  [[nodiscard]] const Turned* at(std::int64_t position) const { return samples_.data() + (position - first_); }

 private:
  bool read_block() {
    const std::int64_t position = first_ + static_cast<std::int64_t>(samples_.size());
    const auto got = source_.read(position, kTrackBlockFrames, block_.data());
    for (std::int64_t i = 0; i < got; ++i) {
      const float left = block_[2 * static_cast<std::size_t>(i)];
      const float right = block_[2 * static_cast<std::size_t>(i) + 1];
      track_.left.add(left);
      track_.right.add(right);
      samples_.push_back(turned(left, right, static_cast<double>(position + i) / rate_hz_));
    }
    return got > 0;
  }

  [[nodiscard]] Turned turned(double left, double right, double time_s) const {
    const double cycles = law_.cycles(time_s);
    const auto oscillator = [](double c) { return std::polar(1.0, -kTwoPi * (c - std::floor(c))); };
    const Complex on = oscillator(cycles);
    const bool room = kTrackBeside * law_.frequency_hz(time_s) < kHighestTrackShare * rate_hz_;
    const Complex off = room ? oscillator(kTrackBeside * cycles) : Complex{0, 0};
    return {left * on, right * on, left * off, right * off};
  }

  AudioSource& source_;
  const SweepLaw& law_;
  double rate_hz_;
  std::int64_t first_;
  Track& track_;
  std::vector<float> block_;
  std::vector<Turned> samples_;
};

/// Rounds to one of a few even numbers of samples, so that windows can be kept and used again.
std::size_t window_size(double window_s, double rate_hz) {
  const double steps = std::round(4 * std::log2(window_s * rate_hz / 4));
  return std::max<std::size_t>(4, 4 * static_cast<std::size_t>(std::lround(std::exp2(steps / 4))));
}

/// The shortest window that is long enough for the frequency at its own middle. A linear sweep moves far during a long window.
std::size_t window_size_at(const SweepLaw& law, double start_s, double rate_hz) {
  double window_s = kTrackLeastWindow_s;
  while (window_s < kTrackLargestWindow_s) {
    const double middle_hz = law.frequency_hz(start_s + 0.5 * window_s);
    if (middle_hz > 0 && window_s >= track_window_s(middle_hz)) break;
    window_s *= kTrackWindowStep;
  }
  return window_size(window_s, rate_hz);
}

TrackFrame frame_of(const Turned* samples, const std::vector<double>& window) {
  Turned sum{};
  double weight = 0;
  for (std::size_t n = 0; n < window.size(); ++n) {
    sum.left += window[n] * samples[n].left;
    sum.right += window[n] * samples[n].right;
    sum.beside_left += window[n] * samples[n].beside_left;
    sum.beside_right += window[n] * samples[n].beside_right;
    weight += window[n];
  }
  const double scale = 2.0 / weight;
  TrackFrame frame;
  frame.left = scale * sum.left;
  frame.right = scale * sum.right;
  frame.beside_power = scale * scale * (std::norm(sum.beside_left) + std::norm(sum.beside_right));
  if (!std::isfinite(std::abs(frame.left)) || !std::isfinite(std::abs(frame.right))) frame = {};
  return frame;
}

}  // namespace

double track_window_s(double frequency_hz) {
  return std::max(kTrackPeriods / frequency_hz, 1.0 / (kTrackStray * frequency_hz + kTrackStray_hz));
}

Track follow(AudioSource& source, const SweepLaw& law, double from_s, double to_s) {
  const double rate = source.info().sample_rate_hz;
  Track track;
  const auto begin = static_cast<std::int64_t>(std::ceil(std::max(0.0, from_s) * rate));
  const auto stop = std::min(source.frames(), static_cast<std::int64_t>(std::floor(to_s * rate)));
  TurnedSamples samples(source, law, begin, track);
  std::map<std::size_t, std::vector<double>> windows;
  const std::int64_t least_hop = std::max<std::int64_t>(1, (stop - begin) / kMostTrackFrames);
  track.frames.reserve(static_cast<std::size_t>(std::max<std::int64_t>(0, stop - begin) / least_hop +
                                                1));  // the system provides the memory only as it is filled
  for (std::int64_t position = begin; position < stop;) {
    const std::size_t size = window_size_at(law, static_cast<double>(position) / rate, rate);
    const auto length = static_cast<std::int64_t>(size);
    if (position + length > stop || !samples.have(position, position + length)) break;
    auto& window = windows[size];
    if (window.empty()) window = numeric::hann_window(size);
    TrackFrame frame = frame_of(samples.at(position), window);
    frame.middle_s = (static_cast<double>(position) + 0.5 * static_cast<double>(length)) / rate;
    frame.frequency_hz = law.frequency_hz(frame.middle_s);
    frame.length_s = static_cast<double>(length) / rate;
    const std::int64_t hop = std::max(least_hop, length / 4);
    frame.hop_s = static_cast<double>(hop) / rate;
    track.frames.push_back(frame);
    position += hop;
  }
  return track;
}

}  // namespace evenwall::internal::measure
