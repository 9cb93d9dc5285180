// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/tone_spectrum.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

#include "measure/method_constants.hpp"
#include "numeric/lanes.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

constexpr double kNoiseBeside = 4;  // widths of a lobe, at which the noise beside a harmonic is measured

std::size_t frame_size_for(double sample_rate_hz) {
  return std::bit_floor(static_cast<std::size_t>(1.5 * kSpectrumFrame_s * sample_rate_hz));
}

float squared(std::complex<float> z) { return z.real() * z.real() + z.imag() * z.imag(); }

template <typename Get>
double median_over(const auto& frames, Get get) {
  std::vector<double> values;
  for (const auto& frame : frames) values.push_back(get(frame));
  return numeric::median(std::move(values));
}

}  // namespace

ToneSpectrum::ToneSpectrum(double sample_rate_hz, double frequency_hz, Driven driven)
    : bin_hz_(sample_rate_hz / static_cast<double>(frame_size_for(sample_rate_hz))),
      frequency_hz_(frequency_hz),
      driven_(driven),
      spectrum_(numeric::hann_window(frame_size_for(sample_rate_hz))),
      left_(spectrum_.size() / 2 + 1),
      right_(spectrum_.size() / 2 + 1) {}

double ToneSpectrum::line_power(const std::vector<float>& power_of, double frequency_hz, std::size_t reach_bins) const {
  const auto middle = static_cast<std::size_t>(std::lround(frequency_hz / bin_hz_));
  double power = 0;
  for (std::size_t k = middle - std::min(middle, reach_bins); k <= std::min(middle + reach_bins, power_of.size() - 1); ++k) {
    power += static_cast<double>(power_of[k]);
  }
  return power;
}

double ToneSpectrum::band_power(const std::vector<float>& power_of) const {
  // If the band is narrower than a line, the width of the line is used.
  const double reach = static_cast<double>(kLobeBins) * bin_hz_;
  const double low = std::min(frequency_hz_ / kBandEdge, frequency_hz_ - reach);
  const double high = std::max(frequency_hz_ * kBandEdge, frequency_hz_ + reach);
  double power = 0;
  for (auto k = static_cast<std::size_t>(std::max(1.0, std::ceil(low / bin_hz_)));
       k < power_of.size() && static_cast<double>(k) * bin_hz_ <= high; ++k) {
    power += static_cast<double>(power_of[k]);
  }
  return power;
}

void ToneSpectrum::add_frame(const float* interleaved) {
  if (!numeric::fastest_kernels().levels(interleaved, frame_size()).finite) return;
  spectrum_.transform(interleaved);
  for (std::size_t k = 0; k < left_.size(); ++k) {
    left_[k] = squared(spectrum_.left(k));
    right_[k] = squared(spectrum_.right(k));
  }
  const bool left = driven_ == Driven::kLeft || (driven_ == Driven::kBoth && line_power(left_, frequency_hz_, kLobeBins) >=
                                                                                 line_power(right_, frequency_hz_, kLobeBins));
  const auto& driven = left ? left_ : right_;
  const auto& quiet = left ? right_ : left_;
  Powers p{};
  p.tone = line_power(driven, frequency_hz_, kSpectrumSkirtBins);
  const double third = line_power(driven, 3 * frequency_hz_, kLobeBins);
  p.harmonics = line_power(driven, 2 * frequency_hz_, kLobeBins) + third;
  // The noise in the lobe is that beside it.
  const double away_hz = std::min(bin_hz_ * kNoiseBeside * static_cast<double>(kLobeBins), 0.5 * frequency_hz_);
  p.third = third -
            0.5 * (line_power(driven, 3 * frequency_hz_ - away_hz, kLobeBins) + line_power(driven, 3 * frequency_hz_ + away_hz, kLobeBins));
  double total = 0;
  for (auto k = static_cast<std::size_t>(std::ceil(kSpectrumLowest_hz / bin_hz_)); k < driven.size(); ++k)
    total += static_cast<double>(driven[k]);
  p.rest = std::max(0.0, total - p.tone - p.harmonics);
  p.driven_band = band_power(driven);
  p.quiet_band = band_power(quiet);
  frames_.push_back(p);
}

OptionalNumber ToneSpectrum::snr_db() const {
  if (frames_.empty()) return std::nullopt;
  const double tone = median_over(frames_, [](const Powers& p) { return p.tone; });
  const double rest = median_over(frames_, [](const Powers& p) { return p.rest; });
  if (!(tone > 0) || !(rest > 0)) return std::nullopt;
  return 10.0 * std::log10(tone / rest);
}

OptionalNumber ToneSpectrum::percent_of_tone(double Powers::*power) const {
  const double highest_hz = bin_hz_ * (static_cast<double>(frame_size()) / 2.0 - static_cast<double>(kLobeBins));
  if (frames_.empty() || 3 * frequency_hz_ > highest_hz) return std::nullopt;
  const double tone = median_over(frames_, [](const Powers& p) { return p.tone; });
  if (!(tone > 0)) return std::nullopt;
  return 100.0 * std::sqrt(std::max(0.0, median_over(frames_, [power](const Powers& p) { return p.*power; })) / tone);
}

OptionalNumber ToneSpectrum::distortion_percent() const { return percent_of_tone(&Powers::harmonics); }

OptionalNumber ToneSpectrum::third_harmonic_percent() const { return percent_of_tone(&Powers::third); }

OptionalNumber ToneSpectrum::band_db() const {
  if (frames_.empty() || driven_ == Driven::kBoth) return std::nullopt;
  double driven = 0;
  double quiet = 0;
  for (const Powers& p : frames_) {
    driven += p.driven_band;
    quiet += p.quiet_band;
  }
  if (!(driven > 0) || !(quiet > 0)) return std::nullopt;
  return 10.0 * std::log10(quiet / driven);
}

}  // namespace evenwall::internal::measure
