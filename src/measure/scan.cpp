#include "measure/scan.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

#include "numeric/fft.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall {
namespace {

// A frame long enough to part a tone from noise 25 dB up (about 50 of them a tone burst of 2.5 s), short enough to place its edges.
constexpr std::int64_t kMostAhead = 2'000'000;  // looks
constexpr double kFrame_s = 0.0427;             // 2048 samples at 48 kHz
constexpr double kFrameStep_s = 0.05;
constexpr double kHighestTone = 0.45;  // of the sample rate
constexpr double kClickLimit = 4.0;
constexpr double kClearlyTonal = 0.5;  // as find_tones asks
constexpr std::size_t kLobeBins = 3;   // a Hann line holds all but 1e-4 of its power within ±3 bins, wow included

std::size_t frame_size(double sample_rate_hz) {
  const double wanted = kFrame_s * sample_rate_hz;
  const auto below = std::bit_floor(static_cast<std::size_t>(wanted));
  return std::max<std::size_t>(256, wanted / static_cast<double>(below) > 1.5 ? 2 * below : below);
}

double power_at(const TwoSpectra& s, std::size_t k) { return std::norm(s.left[k]) + std::norm(s.right[k]); }

/// Distance of a line from bin k in bins, from the ratio of its two largest Hann bins.
double offset_from_bin(const TwoSpectra& s, std::size_t k) {
  const double here = std::sqrt(power_at(s, k));
  const double above = std::sqrt(power_at(s, k + 1));
  const double below = std::sqrt(power_at(s, k - 1));
  const bool up = above >= below;
  const double ratio = (up ? above : below) / here;
  const double offset = (2 * ratio - 1) / (1 + ratio);
  return up ? offset : -offset;
}

/// Amplitude of a sine whose Hann main lobe is summed around bin k.
double lobe_amplitude(const std::vector<Complex>& spectrum, std::size_t k, double window_sum) {
  double power = 0;
  for (std::size_t i = k - kLobeBins; i <= k + kLobeBins; ++i) power += std::norm(spectrum[i]);
  // Σ|W|² over the lobe of a periodic Hann is 1.5 times its peak squared (Parseval).
  return 2.0 * std::sqrt(power / 1.5) / window_sum;
}

ScanFrame look(const TwoSpectra& spectra, double sample_rate_hz, std::size_t size, double window_sum) {
  const double bin_hz = sample_rate_hz / static_cast<double>(size);
  const auto first = std::max(kLobeBins + 1, static_cast<std::size_t>(std::ceil(kLowestTone_hz / bin_hz)));
  const auto last = static_cast<std::size_t>(kHighestTone * static_cast<double>(size));
  std::size_t peak = 0;
  double largest = 0;
  double total = 0;
  for (std::size_t k = first; k <= last; ++k) {
    const double p = power_at(spectra, k);
    total += p;
    // A local maximum: else the skirt of hum or rumble below would pass for a line.
    if (p > largest && p > power_at(spectra, k - 1) && p >= power_at(spectra, k + 1)) {
      peak = k;
      largest = p;
    }
  }
  ScanFrame frame;
  if (peak == 0) return frame;
  double lobe = 0;
  for (std::size_t k = peak - kLobeBins; k <= peak + kLobeBins; ++k) lobe += k >= first ? power_at(spectra, k) : 0;
  frame.frequency_hz = (static_cast<double>(peak) + offset_from_bin(spectra, peak)) * bin_hz;
  frame.amplitude_left = lobe_amplitude(spectra.left, peak, window_sum);
  frame.amplitude_right = lobe_amplitude(spectra.right, peak, window_sum);
  frame.tonal_fraction = std::min(1.0, lobe / total);
  return frame;
}

/// Notes what concerns samples, not spectra. Returns false where a sample is not a finite number.
bool note_samples(const std::vector<float>& block, Scan& result) {
  bool finite = true;
  for (std::size_t i = 0; i + 1 < block.size(); i += 2) {
    if (block[i] != block[i + 1]) result.channels_identical = false;
    for (const float x : {block[i], block[i + 1]}) {
      if (!std::isfinite(x)) {
        ++result.samples_not_finite;
        finite = false;
      } else {
        result.largest_sample = std::max(result.largest_sample, static_cast<double>(std::abs(x)));
      }
    }
  }
  return finite;
}

/// Cuts what stands far out of a frame down to four times its median size, each channel about its own median: a sine's peak, 1.41 times, is
/// never touched. Returns false where there is nothing to cut.
bool limit_clicks(std::vector<float>& block) {
  bool cut = false;
  std::vector<double> values(block.size() / 2);
  for (std::size_t channel = 0; channel < 2; ++channel) {
    for (std::size_t n = 0; n < values.size(); ++n) values[n] = static_cast<double>(block[2 * n + channel]);
    const double middle = median(values);
    for (double& x : values) x = std::abs(x - middle);
    const double most = kClickLimit * median(values);
    if (!(most > 0)) continue;
    for (std::size_t n = 0; n < values.size(); ++n) {
      if (values[n] <= most) continue;
      float& x = block[2 * n + channel];
      x = static_cast<float>(std::clamp(static_cast<double>(x), middle - most, middle + most));
      cut = true;
    }
  }
  return cut;
}

}  // namespace

Scan scan(AudioSource& source, OptionalNumber from_s, OptionalNumber to_s, const FrameListener& also) {
  const double rate = source.info().sample_rate_hz;
  const std::size_t size = frame_size(rate);
  StereoSpectrum spectrum(hann_window(size));
  std::vector<float> block(2 * size);
  Scan result;
  const auto step = static_cast<std::int64_t>(std::lround(kFrameStep_s * rate));
  result.frame_step_s = static_cast<double>(step) / rate;
  const auto begin = static_cast<std::int64_t>(std::lround(from_s.value_or(0) * rate));
  const auto stop = to_s ? std::min(source.frames(), static_cast<std::int64_t>(std::lround(*to_s * rate))) : source.frames();
  // No more than a day's worth ahead: the table then grows without ever standing in memory twice.
  if (stop > begin) result.frames.reserve(static_cast<std::size_t>(std::min<std::int64_t>((stop - begin) / step + 1, kMostAhead)));
  std::int64_t position = begin;
  for (; position + static_cast<std::int64_t>(size) <= stop; position += step) {
    if (source.read(position, static_cast<std::int64_t>(size), block.data()) < static_cast<std::int64_t>(size)) break;
    ScanFrame frame;
    const bool finite = note_samples(block, result);
    if (!finite) std::fill(block.begin(), block.end(), 0.0F);
    const double middle_s = (static_cast<double>(position) + 0.5 * static_cast<double>(size)) / rate;
    const TwoSpectra& spectra = spectrum.transform(block.data());
    if (also) also(middle_s, spectra, rate / static_cast<double>(size));
    if (finite) {
      frame = look(spectra, rate, size, spectrum.window_sum());
      // Only where clicks may hide a tone: every other frame stays as it was recorded.
      if (frame.tonal_fraction < kClearlyTonal && limit_clicks(block)) {
        const ScanFrame beneath = look(spectrum.transform(block.data()), rate, size, spectrum.window_sum());
        if (beneath.tonal_fraction > frame.tonal_fraction) frame = beneath;
      }
    }
    frame.middle_s = middle_s;
    result.frames.push_back(frame);
  }
  result.end_s = static_cast<double>(stop) / rate;
  return result;
}

}  // namespace evenwall
