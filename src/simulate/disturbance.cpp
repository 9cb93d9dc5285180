// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/disturbance.hpp"

#include <cmath>
#include <numbers>

#include "simulate/turning.hpp"

namespace evenwall::internal::simulate {
namespace {

constexpr double kDullShare = 0.2;  // of the surface noise's power lies below about 500 Hz, because vinyl noise is not white
constexpr double kDullCorner_hz = 500.0;
constexpr double kRumbleCorner_hz = 20.0;
constexpr int kRumbleEvery = 64;  // samples between two steps of the rumble, which changes slowly
constexpr int kHumHarmonics = 6;
constexpr double kClickSpread_db = 4.0;

double pole_of(double corner_hz, double rate_hz) { return std::exp(-kTwoPi * corner_hz / rate_hz); }

}  // namespace

Disturbance::Disturbance(const SimulatedNoise& noise, double sample_rate_hz, double tone_peak, Draw draw)
    : noise_(noise), rate_hz_(sample_rate_hz), tone_peak_(tone_peak), draw_(draw) {
  const double tone_rms = tone_peak / std::numbers::sqrt2;
  if (noise.surface_noise_db) {
    const double rms = tone_rms * amplitude_ratio(*noise.surface_noise_db);
    dull_pole_ = pole_of(kDullCorner_hz, rate_hz_);
    white_sd_ = rms * std::sqrt(1 - kDullShare);
    // The output of a one-pole filter of white noise has the variance (1 − p)/(1 + p).
    dull_sd_ = rms * std::sqrt(kDullShare * (1 + dull_pole_) / (1 - dull_pole_)) * (1 - dull_pole_);
  }
  if (noise.rumble_db) {
    const double p = rumble_pole_ = pole_of(kRumbleCorner_hz, rate_hz_ / kRumbleEvery);
    // With two equal poles the variance is (1 − p)⁴(1 + p²)/(1 − p²)³.
    const double variance = std::pow(1 - p, 4) * (1 + p * p) / std::pow(1 - p * p, 3);
    rumble_sd_ = tone_rms * amplitude_ratio(*noise.rumble_db) / std::sqrt(variance);
  }
  if (noise.hum_db) {
    for (int k = 1; k <= kHumHarmonics; ++k) {
      const double peak = std::numbers::sqrt2 * tone_rms * amplitude_ratio(*noise.hum_db) / (k * std::sqrt(1.49));  // Σ 1/k², k = 1 to 6
      const double hz = k * noise.hum_frequency_hz;
      hum_.push_back(
          {std::polar(1.0, kTwoPi * draw_.unit()), std::polar(1.0, kTwoPi * hz / rate_hz_), {peak, peak * draw_.uniform(0.7, 1.0)}});
    }
  }
  until_click_ = noise.clicks_per_s > 0 ? draw_.exponential(rate_hz_ / noise.clicks_per_s) : HUGE_VAL;
}

void Disturbance::begin_click() {
  const double length_s = draw_.uniform(0.0002, 0.002);
  const double peak = draw_.sign() * tone_peak_ * amplitude_ratio(noise_.click_peak_db + kClickSpread_db * draw_.normal());
  const double hz = draw_.uniform(1000, 6000);
  const double decay = std::exp(-4.0 / (length_s * rate_hz_));
  const double direction = kTwoPi * draw_.unit();
  clicks_.push_back({Complex(peak, 0) * std::polar(1.0, kTwoPi * draw_.unit()),
                     std::polar(decay, kTwoPi * hz / rate_hz_),
                     {std::cos(direction), std::sin(direction)},
                     static_cast<int>(length_s * rate_hz_) + 1});
}

void Disturbance::step_rumble() {
  for (std::size_t c = 0; c < 2; ++c) {
    rumble_first_[c] = rumble_pole_ * rumble_first_[c] + (1 - rumble_pole_) * rumble_sd_ * draw_.normal();
    const double target = rumble_pole_ * rumble_now_[c] + (1 - rumble_pole_) * rumble_first_[c];
    rumble_step_[c] = (target - rumble_now_[c]) / kRumbleEvery;
  }
  until_rumble_ = kRumbleEvery;
}

std::array<double, 2> Disturbance::next() {
  double left = noise_.dc_left, right = noise_.dc_right;
  if (white_sd_ > 0) {
    dull_[0] = dull_pole_ * dull_[0] + dull_sd_ * draw_.bell();
    left += white_sd_ * draw_.bell() + dull_[0];
    dull_[1] = dull_pole_ * dull_[1] + dull_sd_ * draw_.bell();
    right += white_sd_ * draw_.bell() + dull_[1];
  }
  if (rumble_sd_ > 0) {
    if (until_rumble_ == 0) step_rumble();
    --until_rumble_;
    left += rumble_now_[0] += rumble_step_[0];
    right += rumble_now_[1] += rumble_step_[1];
  }
  for (Hum& h : hum_) {
    h.state = times(h.state, h.turn);
    left += h.amplitude[0] * h.state.real();
    right += h.amplitude[1] * h.state.real();
  }
  if (--until_click_ < 0) {
    begin_click();
    until_click_ += draw_.exponential(rate_hz_ / noise_.clicks_per_s);
  }
  for (Click& click : clicks_) {
    left += click.share[0] * click.state.real();
    right += click.share[1] * click.state.real();
    click.state = times(click.state, click.turn);
    --click.left;
  }
  if (!clicks_.empty()) std::erase_if(clicks_, [](const Click& click) { return click.left <= 0; });
  return {left, right};
}

}  // namespace evenwall::internal::simulate
