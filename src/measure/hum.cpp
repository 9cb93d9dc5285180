// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/hum.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <numeric>
#include <vector>

#include "measure/method_constants.hpp"
#include "numeric/counts.hpp"
#include "numeric/fft.hpp"
#include "numeric/lanes.hpp"

namespace evenwall::internal::measure {
namespace {

/// Mean power spectrum up to 3 kHz of the channel that has more power there, as squared amplitudes of sines. Bins of 0.7 s frames are about
/// 1.5 Hz wide.
struct LongSpectrum {
  double bin_hz = 0;
  std::vector<double> power;
};

/// Reduces the sample rate of a stretch to about 6 kHz, which is enough for all lines of hum. It cascades three running means of D samples
/// each and keeps every D-th sample. Components that would fold onto a line are attenuated by at least 72 dB.
class Decimator {
 public:
  explicit Decimator(double rate_hz) : factor_(numeric::at_least_one(std::floor(rate_hz / kHumKept_hz))) {
    taps_ = {1.0F};
    for (int pass = 0; pass < 3; ++pass) {
      std::vector<float> next(taps_.size() + factor_ - 1);
      for (std::size_t i = 0; i < taps_.size(); ++i) {
        for (std::size_t j = 0; j < factor_; ++j) next[i + j] += taps_[i] / static_cast<float>(factor_);
      }
      taps_ = next;
    }
    taps_.resize((taps_.size() + kAtOnce - 1) / kAtOnce * kAtOnce);
    for (const float tap : taps_) doubled_.insert(doubled_.end(), 2, tap);
  }
  [[nodiscard]] std::size_t factor() const { return factor_; }
  /// Number of stereo frames of input that `out` frames of output need.
  [[nodiscard]] std::size_t input_frames(std::size_t out) const { return (out - 1) * factor_ + taps_.size(); }
  void run(const float* in, std::size_t out_frames, float* out) const {
    for (std::size_t n = 0; n < out_frames; ++n) {
      const float* at = in + 2 * n * factor_;
      // Eight separate sums, left and right of four frames, because the compiler may not reorder a single sum.
      std::array<float, 2 * kAtOnce> sum{};
      for (std::size_t i = 0; i < doubled_.size(); i += sum.size()) {
        for (std::size_t k = 0; k < sum.size(); ++k) sum[k] += doubled_[i + k] * at[i + k];
      }
      out[2 * n] = (sum[0] + sum[2]) + (sum[4] + sum[6]);
      out[2 * n + 1] = (sum[1] + sum[3]) + (sum[5] + sum[7]);
    }
  }
  /// Factor by which the power of a line is reduced.
  [[nodiscard]] double power_response(double cycles_per_input_sample) const {
    const double x = std::numbers::pi * cycles_per_input_sample;
    if (x == 0 || factor_ == 1) return 1;
    return std::pow(std::sin(x * static_cast<double>(factor_)) / (static_cast<double>(factor_) * std::sin(x)), 6);
  }

 private:
  static constexpr std::size_t kAtOnce = 4;  // frames
  std::size_t factor_;
  std::vector<float> taps_;     // padded with zeros to a multiple of kAtOnce
  std::vector<float> doubled_;  // every tap twice, for left and right
};

enum class Taken { kWhole, kShort, kNotFinite };

/// Computes `count` frames at the reduced rate, from frame `from` of the source on. It works part by part, because the input is larger (16
/// times at 96 kHz).
Taken take(AudioSource& source, std::int64_t from, const Decimator& decimator, std::size_t count, std::vector<float>& kept) {
  std::vector<float> block(2 * decimator.input_frames(std::min(kHumPart, count)));
  for (std::size_t done = 0; done < count; done += kHumPart) {
    const std::size_t part = std::min(kHumPart, count - done);
    const std::size_t wanted = decimator.input_frames(part);
    const auto at = from + static_cast<std::int64_t>(done * decimator.factor());
    if (source.read(at, static_cast<std::int64_t>(wanted), block.data()) < static_cast<std::int64_t>(wanted)) return Taken::kShort;
    if (!numeric::fastest_kernels().levels(block.data(), wanted).finite) return Taken::kNotFinite;
    decimator.run(block.data(), part, kept.data() + 2 * done);
  }
  return Taken::kWhole;
}

LongSpectrum long_spectrum(AudioSource& source, double start_s, double end_s, double longest_s) {
  const double rate = source.info().sample_rate_hz;
  const Decimator decimator(rate);
  const double kept_hz = rate / static_cast<double>(decimator.factor());
  const auto first = static_cast<std::int64_t>(std::max(0.0, start_s) * rate);
  const auto stop = std::min(source.frames(), static_cast<std::int64_t>(end_s * rate));
  LongSpectrum result;
  const double room = std::min(longest_s, static_cast<double>(stop - first) / rate) * kept_hz - 3;
  if (room < kHumLeastRoom) return result;
  const std::size_t size = std::bit_floor(static_cast<std::size_t>(room));
  numeric::LookSpectrum spectrum(numeric::hann_window(size));
  result.bin_hz = kept_hz / static_cast<double>(size);
  std::vector<double> left(size / 2 + 1), right(size / 2 + 1);
  const auto taken = static_cast<std::int64_t>(decimator.input_frames(size));
  std::vector<float> kept(2 * size);
  // The frames are spread over the stretch, because hum does not come and go.
  static_assert(kHumMostFrames > 1);
  assert(taken > 0);
  const std::int64_t step = std::max(taken, (stop - first - taken) / (kHumMostFrames - 1));
  int frames = 0;
  for (std::int64_t at = first; at + taken <= stop; at += step) {
    const Taken what = take(source, at, decimator, size, kept);
    if (what == Taken::kShort) break;
    if (what == Taken::kNotFinite) continue;
    spectrum.transform(kept.data());
    for (std::size_t k = 0; k < left.size(); ++k) {
      left[k] += static_cast<double>(std::norm(spectrum.left(k)));
      right[k] += static_cast<double>(std::norm(spectrum.right(k)));
    }
    ++frames;
  }
  const double scale = 4.0 / (spectrum.window_sum() * spectrum.window_sum() * std::max(1, frames));
  const auto sum = [](const std::vector<double>& x) { return std::accumulate(x.begin() + 4, x.end(), 0.0); };
  result.power = sum(left) >= sum(right) ? left : right;
  for (std::size_t k = 0; k < result.power.size(); ++k) {
    result.power[k] *= scale / decimator.power_response(static_cast<double>(k) * result.bin_hz / rate);
  }
  return result;
}

/// Squared amplitude of a line; 0 if it does not exceed its surroundings by kHumStandsOut.
double line_at(const LongSpectrum& s, double frequency_hz) {
  const auto middle = static_cast<std::size_t>(std::lround(frequency_hz / s.bin_hz));
  if (middle < 5 || middle + 5 >= s.power.size()) return 0;
  const double peak = std::max({s.power[middle - 1], s.power[middle], s.power[middle + 1]});
  const double around = std::max((s.power[middle - 5] + s.power[middle - 4]) / 2, (s.power[middle + 4] + s.power[middle + 5]) / 2);
  return peak > kHumStandsOut * around ? peak : 0;
}

double comb(const LongSpectrum& s, double mains_hz, double tone_hz) {
  double power = 0;
  for (int k = 1; k <= kHumHarmonics; ++k) {
    if (std::abs(k * mains_hz - tone_hz) > 12.0) power += line_at(s, k * mains_hz);
  }
  return power;
}

bool on_grid(double frequency_hz, double mains_hz) {
  const double k = std::round(frequency_hz / mains_hz);
  return k >= 1 && k <= kHumHighestHarmonic && std::abs(frequency_hz - k * mains_hz) <= kHumOnGrid * frequency_hz;
}

/// Whether the line continues in an adjacent stretch. If the capture is too short to contain that stretch, nothing contradicts it: true.
bool goes_on(AudioSource& source, double start_s, double end_s, double frequency_hz, double power) {
  const LongSpectrum s = long_spectrum(source, start_s, end_s, kHumOutside_s);
  if (s.power.empty()) return true;
  const auto middle = static_cast<std::size_t>(std::lround(frequency_hz / s.bin_hz));
  double there = 0;
  for (std::size_t k = middle - std::min<std::size_t>(middle, 1); k <= std::min(middle + 1, s.power.size() - 1); ++k) {
    there = std::max(there, s.power[k]);
  }
  return there > kHumGoesOn * power;
}

}  // namespace

Hum hum_beside(AudioSource& source, double start_s, double end_s, double frequency_hz) {
  assert(frequency_hz > 0);
  Hum hum;
  const LongSpectrum s = long_spectrum(source, start_s, end_s, kHumFrame_s);
  if (s.power.empty()) return hum;
  const double at_50 = comb(s, 50.0, frequency_hz);
  const double at_60 = comb(s, 60.0, frequency_hz);
  const double power = std::max(at_50, at_60);
  if (!(power > 0)) return hum;
  hum.mains_hz = at_50 >= at_60 ? 50.0 : 60.0;
  hum.level_dbfs = 10.0 * std::log10(power);
  const double tone = line_at(s, frequency_hz);
  hum.is_the_tone = on_grid(frequency_hz, hum.mains_hz) && power * kHumBesideTone > tone &&
                    (goes_on(source, start_s - kHumOutside_s - 0.1, start_s - 0.1, frequency_hz, tone) ||
                     goes_on(source, end_s + 0.1, end_s + kHumOutside_s + 0.1, frequency_hz, tone));
  return hum;
}

}  // namespace evenwall::internal::measure
