// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/scan.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>

#include "measure/click_limit.hpp"
#include "measure/method_constants.hpp"
#include "numeric/counts.hpp"
#include "numeric/fft.hpp"
#include "numeric/lanes.hpp"

namespace evenwall::internal::measure {
namespace {

std::size_t frame_size(double sample_rate_hz) {
  const double wanted = kScanFrame_s * sample_rate_hz;
  const auto below = std::bit_floor(static_cast<std::size_t>(wanted));
  return std::max<std::size_t>(256, wanted / static_cast<double>(below) > 1.5 ? 2 * below : below);
}

/// Distance of a line from bin k, in bins, computed from the ratio of its two largest Hann bins.
double offset_from_bin(const std::vector<float>& power, std::size_t k) {
  const double here = std::sqrt(static_cast<double>(power[k]));
  const double above = std::sqrt(static_cast<double>(power[k + 1]));
  const double below = std::sqrt(static_cast<double>(power[k - 1]));
  const bool up = above >= below;
  const double ratio = (up ? above : below) / here;
  const double offset = (2 * ratio - 1) / (1 + ratio);
  return up ? offset : -offset;
}

/// Amplitude of a sine whose Hann main lobe holds this power. Σ|W|² over the lobe of a periodic Hann is 1.5 times its peak squared
/// (Parseval).
double lobe_amplitude(double power, double window_sum) { return 2.0 * std::sqrt(power / 1.5) / window_sum; }

struct Peak {
  std::size_t bin = 0;  // 0 if there is no peak
  double total = 0;
};

/// Largest value and sum from `first` to `last`. Computes eight of each in parallel, because the compiler may not reorder them itself.
std::pair<float, double> largest_and_sum(const std::vector<float>& power, std::size_t first, std::size_t last) {
  constexpr std::size_t kAtOnce = 8;
  std::array<float, kAtOnce> largest{}, sum{};
  std::size_t k = first;
  for (; k + kAtOnce <= last + 1; k += kAtOnce) {
    for (std::size_t i = 0; i < kAtOnce; ++i) {
      const float p = power[k + i];
      largest[i] = p > largest[i] ? p : largest[i];
      sum[i] += p;
    }
  }
  for (std::size_t i = 0; k <= last; ++k, ++i) largest[i] = std::max(largest[i], power[k]), sum[i] += power[k];
  double total = 0;
  for (const float s : sum) total += static_cast<double>(s);
  return {*std::max_element(largest.begin(), largest.end()), total};
}

/// Finds the strongest local maximum. Without this condition the skirt of hum or rumble below would count as a line.
Peak strongest_line(const std::vector<float>& power, std::size_t first, std::size_t last) {
  const auto is_peak = [&](std::size_t k) { return power[k] > power[k - 1] && power[k] >= power[k + 1]; };
  const auto [most, total] = largest_and_sum(power, first, last);
  Peak peak;
  peak.total = total;
  // If the largest value of all is a peak, as with every tone, no other value has to be examined.
  const auto begin = power.begin() + static_cast<std::ptrdiff_t>(first);
  const auto at = static_cast<std::size_t>(std::find(begin, power.begin() + static_cast<std::ptrdiff_t>(last), most) - power.begin());
  if (most > 0 && is_peak(at)) {
    peak.bin = at;
    return peak;
  }
  float largest = 0;
  for (std::size_t k = first; k <= last; ++k) {
    if (power[k] > largest && is_peak(k)) {
      peak.bin = k;
      largest = power[k];
    }
  }
  return peak;
}

struct StrongestLine {
  ScanFrame frame;
  double mean_square = 0;  // of both channels above kLowestTone_hz, full scale = 1
};

StrongestLine look(numeric::LookSpectrum& spectrum, double sample_rate_hz) {
  const auto size = static_cast<double>(spectrum.size());
  const double bin_hz = sample_rate_hz / size;
  const auto first = std::max(kLobeBins + 1, static_cast<std::size_t>(std::ceil(kLowestTone_hz / bin_hz)));
  const auto last = static_cast<std::size_t>(kHighestShare * size);
  const std::vector<float>& power = spectrum.power();
  const Peak peak = strongest_line(power, first, last);
  // From one side of a Hann-weighted spectrum: 2/(N·Σw²), Σw² = 3N/8.
  StrongestLine line{{}, 2.0 * peak.total / (0.375 * size * size)};
  ScanFrame& frame = line.frame;
  if (peak.bin == 0) return line;
  double lobe = 0, left = 0, right = 0;
  for (std::size_t k = peak.bin - kLobeBins; k <= peak.bin + kLobeBins; ++k) {
    lobe += k >= first ? static_cast<double>(power[k]) : 0;
    left += static_cast<double>(std::norm(spectrum.left(k)));
    right += static_cast<double>(std::norm(spectrum.right(k)));
  }
  frame.frequency_hz = static_cast<float>((static_cast<double>(peak.bin) + offset_from_bin(power, peak.bin)) * bin_hz);
  frame.amplitude_left = static_cast<float>(lobe_amplitude(left, spectrum.window_sum()));
  frame.amplitude_right = static_cast<float>(lobe_amplitude(right, spectrum.window_sum()));
  frame.tonal_fraction = static_cast<float>(std::min(1.0, lobe / peak.total));
  return line;
}

/// Records the facts about the samples themselves. Returns false if a sample is not a finite number.
bool note_samples(const std::vector<float>& block, Scan& result) {
  for (std::size_t i = 0; result.channels_identical && i + 1 < block.size(); i += 2) {
    if (block[i] != block[i + 1]) result.channels_identical = false;
  }
  const numeric::StereoLevels levels = numeric::fastest_kernels().levels(block.data(), block.size() / 2);
  if (levels.finite) {
    result.largest_sample =
        std::max({result.largest_sample, static_cast<double>(levels.largest[0]), static_cast<double>(levels.largest[1])});
    return true;
  }
  for (const float x : block) {
    if (std::isfinite(x)) {
      result.largest_sample = std::max(result.largest_sample, static_cast<double>(std::abs(x)));
    } else {
      ++result.samples_not_finite;
    }
  }
  return false;
}

double power_of(const OctaveFrame& octaves) {
  double power = 0;
  for (std::size_t o = 0; o < kOctaves; ++o) power += static_cast<double>(octaves.left[o] + octaves.right[o]);
  return power;
}

struct Look {
  ScanFrame frame;
  OctaveFrame octaves;
};

bool has_line(const Look& a) {
  return a.frame.tonal_fraction >= kSweepLeastTonal && std::max(a.frame.amplitude_left, a.frame.amplitude_right) >= kQuietestTone;
}

/// Whether the look contains neither a line nor enough power to hide one.
bool is_quiet(const Look& a) { return !has_line(a) && power_of(a.octaves) < kQuietPower * kQuietPower; }

bool is_sure_tone(const Look& a) {
  return a.frame.tonal_fraction > kSureTone && std::max(a.frame.amplitude_left, a.frame.amplitude_right) > kQuietestTone;
}

bool within(double a, double b, double factor) { return a <= factor * b && b <= factor * a; }

bool same_line(const Look& a, const Look& b) {
  const bool left = a.frame.amplitude_left >= a.frame.amplitude_right;
  return std::abs(a.frame.frequency_hz - b.frame.frequency_hz) <= kSameToneBetweenLooks * a.frame.frequency_hz &&
         (left ? within(a.frame.amplitude_left, b.frame.amplitude_left, kSameLevelFactor)
               : within(a.frame.amplitude_right, b.frame.amplitude_right, kSameLevelFactor));
}

/// Whether the frames between two looks may be interpolated from them: both hold the same clear tone, or both have too little power for
/// test noise and either no line or the same one (hum).
bool same_throughout(const Look& a, const Look& b) {
  const auto is_faint = [](const Look& look) { return power_of(look.octaves) < kFaintPower * kFaintPower; };
  if (is_sure_tone(a) && is_sure_tone(b)) return same_line(a, b);
  if (!is_faint(a) || !is_faint(b) || !within(power_of(a.octaves), power_of(b.octaves), kSameQuietness)) return false;
  return has_line(a) ? has_line(b) && same_line(a, b) : !has_line(b);
}

/// Interpolates the frame linearly between a and b; share is 0 at a and 1 at b. The octaves are those of the nearer look.
Look between(const Look& a, const Look& b, double share) {
  const auto mix = [part = static_cast<float>(share)](float x, float y) { return x + part * (y - x); };
  Look look = share < 0.5 ? a : b;
  look.frame = {0, mix(a.frame.frequency_hz, b.frame.frequency_hz), mix(a.frame.amplitude_left, b.frame.amplitude_left),
                mix(a.frame.amplitude_right, b.frame.amplitude_right), mix(a.frame.tonal_fraction, b.frame.tonal_fraction)};
  return look;
}

class Scanner {
 public:
  Scanner(AudioSource& source, OptionalNumber from_s, OptionalNumber to_s)
      : source_(source),
        rate_(source.info().sample_rate_hz),
        spectrum_(numeric::hann_window(frame_size(rate_))),
        block_(2 * spectrum_.size()),
        step_(static_cast<std::int64_t>(numeric::at_least_one(kScanStep_s * rate_))),
        begin_(frame_at(from_s.value_or(0))) {
    const auto stop = to_s ? frame_at(*to_s) : source.frames();
    const auto room = stop - begin_ - static_cast<std::int64_t>(spectrum_.size());
    looks_ = room < 0 ? 0 : room / step_ + 1;
    result_.frame_step_s = scan_step_s(rate_);
    result_.end_s = static_cast<double>(stop) / rate_;
    // The table is then not copied while it grows.
    result_.frames.reserve(static_cast<std::size_t>(std::min(looks_, kScanMostAhead)));
  }

  Scan run(const FrameListener& also) {
    if (looks_ == 0) return std::move(result_);
    Look here = look_at(0);
    keep(here, 0, also);
    for (std::int64_t i = 0; i + 1 < looks_;) {
      const std::int64_t next = std::min(i + kScanStride, looks_ - 1);
      Look there = look_at(next);
      const bool same = same_throughout(here, there);
      for (std::int64_t k = i + 1; k < next; ++k) {
        keep(same ? between(here, there, static_cast<double>(k - i) / static_cast<double>(next - i)) : look_at(k), k, also);
      }
      keep(there, next, also);
      here = there;
      i = next;
    }
    return std::move(result_);
  }

 private:
  [[nodiscard]] std::int64_t frame_at(double time_s) const {
    return std::lround(std::min(std::max(0.0, time_s * rate_), static_cast<double>(source_.frames())));
  }

  Look look_at(std::int64_t index) {
    const auto size = static_cast<std::int64_t>(spectrum_.size());
    if (source_.read(begin_ + index * step_, size, block_.data()) < size) std::fill(block_.begin(), block_.end(), 0.0F);
    const bool finite = note_samples(block_, result_);
    if (!finite) std::fill(block_.begin(), block_.end(), 0.0F);
    spectrum_.transform(block_.data());
    Look result;
    double mean_square = 0;
    if (finite) {
      const StrongestLine line = look(spectrum_, rate_);
      result.frame = line.frame;
      mean_square = line.mean_square;
    }
    // A clear tone is never noise, so its octaves are not needed.
    if (is_sure_tone(result)) return result;
    result.octaves = octave_frame(spectrum_, rate_ / static_cast<double>(size));
    if (!finite) return result;
    // Clicks are limited only if they may hide a tone; every other frame stays as it was recorded.
    const auto tonal = static_cast<double>(result.frame.tonal_fraction);
    if (tonal < kTonal && !is_quiet(result) && may_hide_a_tone(tonal, mean_square, limit_clicks(block_))) {
      spectrum_.transform(block_.data());
      const ScanFrame beneath = look(spectrum_, rate_).frame;
      if (beneath.tonal_fraction > result.frame.tonal_fraction) result.frame = beneath;
    }
    return result;
  }

  void keep(Look look, std::int64_t index, const FrameListener& also) {
    look.frame.middle_s = (static_cast<double>(begin_ + index * step_) + 0.5 * static_cast<double>(spectrum_.size())) / rate_;
    if (also) also(look.frame, look.octaves);
    result_.frames.push_back(look.frame);
  }

  AudioSource& source_;
  double rate_;
  numeric::LookSpectrum spectrum_;
  std::vector<float> block_;
  std::int64_t step_;
  std::int64_t begin_;
  std::int64_t looks_ = 0;
  Scan result_;
};

}  // namespace

std::size_t most_looks(const AudioSource& source) {
  const auto step = static_cast<std::int64_t>(numeric::at_least_one(kScanStep_s * source.info().sample_rate_hz));
  return static_cast<std::size_t>(std::min(source.frames() / step + 1, kScanMostAhead));
}

double scan_step_s(double rate_hz) { return static_cast<double>(numeric::at_least_one(kScanStep_s * rate_hz)) / rate_hz; }

Scan scan(AudioSource& source, OptionalNumber from_s, OptionalNumber to_s, const FrameListener& also) {
  return Scanner(source, from_s, to_s).run(also);
}

}  // namespace evenwall::internal::measure
