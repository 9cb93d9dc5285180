// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/pitch_wander.hpp"

#include <cmath>
#include <functional>
#include <numbers>
#include <random>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kWanderHop_s = 0.01;

struct Frames {
  std::vector<double> middle_s;
  std::vector<Complex> driven;
};

/// Frames of a tone with this deviation of its frequency, in hertz, and noise of this standard deviation in each part.
Frames frames_of(double seconds, const std::function<double(double)>& hertz_at, double noise = 0) {
  Frames frames;
  std::mt19937 random(7);
  std::normal_distribution<double> part(0, 1);
  double phase_rad = 0.3;
  for (double t = 0; t < seconds; t += kWanderHop_s) {
    frames.middle_s.push_back(t);
    frames.driven.push_back(0.2 * (std::polar(1.0, phase_rad) + noise * Complex(part(random), part(random))));
    phase_rad += 2 * std::numbers::pi * hertz_at(t + 0.5 * kWanderHop_s) * kWanderHop_s;
  }
  return frames;
}

OptionalNumber wander(const Frames& frames, double frequency_hz = 1000) {
  return pitch_wander_percent(frames.middle_s, frames.driven, kWanderHop_s, frequency_hz);
}

}  // namespace

TEST_CASE("A steady tone has no wander, also beside the oscillator") {
  CHECK(*wander(frames_of(5, [](double) { return 0.0; })) < 1e-9);
  CHECK(*wander(frames_of(5, [](double) { return 0.7; })) < 1e-9);   // rounding only
  CHECK(*wander(frames_of(5, [](double) { return -9.0; })) < 1e-9);  // 0.09 turns from frame to frame
}

TEST_CASE("Wow of a record gives about its rms") {
  const auto wow = [](double t) { return 0.5 * std::sin(2 * std::numbers::pi * t / 1.8); };  // 0.05 % of 1 kHz, peak
  // The rms is 0.035 %. The robust estimate of a sine's median deviation, 0.707 of the peak, is 0.052 %; means of 0.25 s take 3 %.
  CHECK_THAT(*wander(frames_of(9, wow)), WithinAbs(0.052, 0.006));
  CHECK_THAT(*wander(frames_of(9, wow), 500), WithinAbs(0.104, 0.012));
}

TEST_CASE("Noise gives little, and a single phase jump nothing") {
  // Noise of -40 dB in 24 kHz is 0.01·sqrt(2)·sqrt(1.5/0.04 s/48 kHz) = 0.0004 of a frame of 0.04 s in each part.
  const Frames noisy = frames_of(
      9, [](double) { return 0.0; }, 0.0004);
  CHECK(*wander(noisy) < 1e-4);
  Frames jumped = frames_of(9, [](double) { return 0.0; });
  for (std::size_t f = 400; f < jumped.driven.size(); ++f) jumped.driven[f] *= std::polar(1.0, 0.6);
  CHECK(*wander(jumped) < 1e-9);
}

TEST_CASE("The phase is not followed over missing frames, and a short tone has no value") {
  Frames gap = frames_of(6, [](double) { return 0.2; });
  gap.middle_s.erase(gap.middle_s.begin() + 200, gap.middle_s.begin() + 237);
  gap.driven.erase(gap.driven.begin() + 200, gap.driven.begin() + 237);
  CHECK(*wander(gap) < 1e-9);
  CHECK_FALSE(wander(frames_of(0.99, [](double) { return 0.0; })));
  CHECK(wander(frames_of(1.02, [](double) { return 0.0; })));
  CHECK_FALSE(wander({}));
}
