// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/lock_in.hpp"

#include <cassert>
#include <cmath>
#include <numbers>

#include "measure/method_constants.hpp"
#include "numeric/counts.hpp"

namespace evenwall::internal::measure {
LockIn::LockIn(double sample_rate_hz, double frequency_hz, double start_s) : hop_(numeric::at_least_one(kLockInHop_s * sample_rate_hz)) {
  assert(frequency_hz > 0 && 2 * frequency_hz < sample_rate_hz);
  frames_.hop_s = static_cast<double>(hop_) / sample_rate_hz;
  frames_.first_middle_s = start_s + 0.5 * kHopsPerFrame * frames_.hop_s;
  const double base = kTwoPi * frequency_hz / sample_rate_hz;
  const double side = kTwoPi / static_cast<double>(kHopsPerFrame * hop_);
  step_rad_ = {base, base - side, base + side};
  for (std::size_t m = 0; m < numeric::kOscillators; ++m) {
    hop_turn_[m] = std::polar(1.0, -std::fmod(step_rad_[m] * static_cast<double>(hop_), kTwoPi));
  }
  for (const double step : step_rad_) {
    for (std::size_t n = 0; n < hop_; ++n) tables_.insert(tables_.end(), 2, static_cast<float>(std::cos(step * static_cast<double>(n))));
    for (std::size_t n = 0; n < hop_; ++n) tables_.insert(tables_.end(), 2, static_cast<float>(std::sin(step * static_cast<double>(n))));
  }
}

numeric::StereoLevels LockIn::add_hop(const float* interleaved) {
  const auto [sums, levels] = numeric::fastest_kernels().hop_sums(interleaved, tables_.data(), hop_);
  // Each hop multiplies by one factor more. Every 64 hops the value is computed anew, before the products' rounding matters (64·1e-16).
  for (std::size_t m = 0; m < numeric::kOscillators; ++m) {
    const auto samples = static_cast<double>(hops_ * hop_);
    back_[m] = hops_ % 64 == 0 ? std::polar(1.0, -std::fmod(step_rad_[m] * samples, kTwoPi)) : back_[m] * hop_turn_[m];
  }
  for (std::size_t channel = 0; channel < 2; ++channel) {
    Turned& s = last_[channel][hops_ % kHopsPerFrame];
    for (std::size_t m = 0; m < numeric::kOscillators; ++m) s[m] = Complex(sums[channel].cosine[m], -sums[channel].sine[m]) * back_[m];
  }
  ++hops_;
  if (hops_ >= kHopsPerFrame) {
    frames_.left.push_back(frame_amplitude(last_[0], hops_ - kHopsPerFrame));
    frames_.right.push_back(frame_amplitude(last_[1], hops_ - kHopsPerFrame));
  }
  return levels;
}

Complex LockIn::frame_amplitude(const LastHops& hops, std::size_t first) const {
  static_assert(kHopsPerFrame == 4);
  const Turned &a = hops[first % 4], &b = hops[(first + 1) % 4], &c = hops[(first + 2) % 4], &d = hops[(first + 3) % 4];
  const auto total = [&](std::size_t m) { return a[m] + b[m] + c[m] + d[m]; };
  // The window starts at hop `first`, and every hop advances its side oscillators by a quarter turn.
  constexpr std::array<Complex, 4> kQuarterTurns{Complex{1, 0}, Complex{0, 1}, Complex{-1, 0}, Complex{0, -1}};
  const Complex turn = kQuarterTurns[first % 4];
  const Complex sum = 0.5 * total(0) - 0.25 * std::conj(turn) * total(1) - 0.25 * turn * total(2);
  const double scale = 4.0 / static_cast<double>(kHopsPerFrame * hop_);  // the window's sum is N/2, and a cosine is half a rotating vector
  const Complex amplitude = scale * sum;
  return std::isfinite(amplitude.real()) && std::isfinite(amplitude.imag()) ? amplitude : Complex{0, 0};
}

}  // namespace evenwall::internal::measure
