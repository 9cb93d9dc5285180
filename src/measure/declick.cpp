// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/declick.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

#include "measure/lock_in.hpp"
#include "measure/method_constants.hpp"
#include "numeric/counts.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

/// Sample n of one channel of interleaved stereo samples; channel 0 is the left one.
float& at(std::vector<float>& samples, std::size_t n, std::size_t channel) { return samples[2 * n + channel]; }

/// Robust standard deviation of each block of one channel.
std::vector<double> block_scales(const std::vector<float>& samples, std::size_t channel, std::size_t block) {
  std::vector<double> scales;
  const std::size_t n = samples.size() / 2;
  for (std::size_t first = 0; first < n; first += block) {
    std::vector<double> sizes;
    for (std::size_t i = first; i < std::min(n, first + block); ++i)
      sizes.push_back(std::abs(static_cast<double>(samples[2 * i + channel])));
    scales.push_back(numeric::median(std::move(sizes)) / kMedianOverSd);
  }
  return scales;
}

std::vector<float> limited(const std::vector<float>& samples, std::size_t block) {
  std::vector<float> result = samples;
  for (std::size_t channel = 0; channel < 2; ++channel) {
    const auto scales = block_scales(samples, channel, block);
    for (std::size_t n = 0; n < samples.size() / 2; ++n) {
      const auto most = static_cast<float>(kDeclickFirstLimit * kMedianOverSd * scales[n / block]);
      at(result, n, channel) = std::clamp(samples[2 * n + channel], -most, most);
    }
  }
  return result;
}

/// Writes one channel of the tone alone, with magnitude and phase interpolated between the middles of the lock-in frames.
void add_tone(std::vector<float>& tone, const std::vector<Complex>& frames, std::size_t channel, std::size_t hop, double step_rad) {
  const std::size_t n = tone.size() / 2;
  for (std::size_t i = 0; i < n; ++i) {
    const double place = std::clamp(static_cast<double>(i) / static_cast<double>(hop) - 2.0, 0.0, static_cast<double>(frames.size() - 1));
    const auto f = std::min(static_cast<std::size_t>(place), frames.size() - 2);
    const double u = place - static_cast<double>(f);
    const double size = (1 - u) * std::abs(frames[f]) + u * std::abs(frames[f + 1]);
    const double phase = std::arg(frames[f]) + u * std::arg(frames[f + 1] * std::conj(frames[f]));
    at(tone, i, channel) = static_cast<float>(size * std::cos(phase + std::fmod(step_rad * static_cast<double>(i), 2 * std::numbers::pi)));
  }
}

std::vector<float> tone_in(const std::vector<float>& samples, double rate_hz, double frequency_hz) {
  LockIn lock_in(rate_hz, frequency_hz, 0);
  const std::size_t hop = lock_in.hop_frames();
  for (std::size_t h = 0; 2 * (h + 1) * hop <= samples.size(); ++h) lock_in.add_hop(samples.data() + 2 * h * hop);
  const LockInFrames frames = lock_in.frames();
  std::vector<float> tone(samples.size());
  if (frames.left.size() < 2) return tone;
  const double step_rad = 2 * std::numbers::pi * frequency_hz / rate_hz;
  add_tone(tone, frames.left, 0, hop, step_rad);
  add_tone(tone, frames.right, 1, hop, step_rad);
  return tone;
}

std::vector<bool> clicks_in(const std::vector<float>& rest, std::size_t block, std::size_t margin) {
  const std::size_t n = rest.size() / 2;
  std::vector<bool> clicks(n);
  for (std::size_t channel = 0; channel < 2; ++channel) {
    const auto scales = block_scales(rest, channel, block);
    for (std::size_t i = 0; i < n; ++i) {
      if (!(std::abs(static_cast<double>(rest[2 * i + channel])) > kClickStandsOut * scales[i / block])) continue;
      for (std::size_t k = i - std::min(i, margin); k <= std::min(n - 1, i + margin); ++k) clicks[k] = true;
    }
  }
  return clicks;
}

/// Mean of up to kClickSideSamples samples from `from` on, in steps of `step`. It ends before the next click; 0 if it covers no sample.
double side_mean(const std::vector<float>& rest, const std::vector<bool>& clicks, std::size_t channel, std::ptrdiff_t from,
                 std::ptrdiff_t step) {
  double sum = 0;
  std::size_t count = 0;
  const auto n = static_cast<std::ptrdiff_t>(clicks.size());
  for (std::ptrdiff_t i = from; i >= 0 && i < n && count < kClickSideSamples && !clicks[static_cast<std::size_t>(i)]; i += step) {
    sum += static_cast<double>(rest[2 * static_cast<std::size_t>(i) + channel]);
    ++count;
  }
  return count > 0 ? sum / static_cast<double>(count) : 0.0;
}

/// Replaces the clicks in the rest of the signal (without the tone) by straight lines.
void bridge(std::vector<float>& rest, const std::vector<bool>& clicks) {
  const std::size_t n = clicks.size();
  for (std::size_t first = 0; first < n; ++first) {
    if (!clicks[first]) continue;
    std::size_t last = first;
    while (last < n && clicks[last]) ++last;
    for (std::size_t channel = 0; channel < 2; ++channel) {
      const double before = side_mean(rest, clicks, channel, static_cast<std::ptrdiff_t>(first) - 1, -1);
      const double after = side_mean(rest, clicks, channel, static_cast<std::ptrdiff_t>(last), +1);
      for (std::size_t i = first; i < last; ++i) {
        const double u = static_cast<double>(i - first + 1) / static_cast<double>(last - first + 1);
        at(rest, i, channel) = static_cast<float>((1 - u) * before + u * after);
      }
    }
    first = last;
  }
}

}  // namespace

DeclickedStretch::DeclickedStretch(AudioSource& source, std::int64_t first, std::int64_t last, double frequency_hz)
    : source_(source), info_(source.info()), first_(first), last_(std::min(last, source.frames())), frequency_hz_(frequency_hz) {
  assert(0 <= first && first < last);
}

void DeclickedStretch::clean_window(std::int64_t index) {
  const std::int64_t begin = first_ + index * kWindowFrames;
  const std::int64_t from = std::max(first_, begin - kWindowMargin);
  const std::int64_t to = std::min(last_, begin + kWindowFrames + kWindowMargin);
  cleaned_ = {};  // frees the last window before memory is taken for the next one
  std::vector<float> samples(2 * static_cast<std::size_t>(to - from));
  samples.resize(2 * static_cast<std::size_t>(source_.read(from, to - from, samples.data())));
  cleaned_from_ = from;
  window_ = index;
  const std::size_t block = numeric::at_least_one(std::floor(kDeclickBlock_s * info_.sample_rate_hz));
  const auto margin = static_cast<std::size_t>(std::lround(kClickMargin_s * info_.sample_rate_hz));
  cleaned_ = limited(samples, block);
  for (int round = 0; round < kDeclickRounds; ++round) {
    const std::vector<float> tone = tone_in(cleaned_, info_.sample_rate_hz, frequency_hz_);
    std::vector<float> rest(samples.size());
    for (std::size_t i = 0; i < samples.size(); ++i) rest[i] = samples[i] - tone[i];
    const std::vector<bool> clicks = clicks_in(rest, block, margin);
    bridge(rest, clicks);
    // Samples outside the gaps are not changed, not even by rounding.
    for (std::size_t i = 0; i < samples.size(); ++i) cleaned_[i] = clicks[i / 2] ? tone[i] + rest[i] : samples[i];
    if (round + 1 == kDeclickRounds) replaced_ += std::count(clicks.begin(), clicks.end(), true);
  }
  seen_ += to - from;
}

double DeclickedStretch::replaced_fraction() const { return seen_ > 0 ? static_cast<double>(replaced_) / static_cast<double>(seen_) : 0.0; }

std::int64_t DeclickedStretch::read(std::int64_t first, std::int64_t count, float* out) {
  const std::int64_t got = std::clamp<std::int64_t>(frames() - first, 0, count);
  std::fill_n(out, 2 * got, 0.0F);
  for (std::int64_t at = std::max(first, first_); at < first + got;) {
    const std::int64_t index = (at - first_) / kWindowFrames;
    if (index != window_) clean_window(index);
    const std::int64_t in_hand = cleaned_from_ + static_cast<std::int64_t>(cleaned_.size() / 2);
    const std::int64_t until = std::min({first + got, first_ + (index + 1) * kWindowFrames, in_hand});
    if (until <= at) return at - first;
    std::copy(cleaned_.begin() + 2 * (at - cleaned_from_), cleaned_.begin() + 2 * (until - cleaned_from_), out + 2 * (at - first));
    at = until;
  }
  return got;
}

}  // namespace evenwall::internal::measure
