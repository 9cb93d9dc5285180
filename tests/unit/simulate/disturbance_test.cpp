// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/disturbance.hpp"

#include <cmath>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::simulate;

namespace {

struct Moments {
  double rms = 0, mean = 0, cross = 0;
};

Moments moments(SimulatedNoise noise, int frames, std::uint64_t seed) {
  Disturbance d(noise, 48000, 0.25, Draw{seed});
  Moments m;
  for (int i = 0; i < frames; ++i) {
    const auto x = d.next();
    m.rms += x[0] * x[0] / frames;
    m.mean += x[0] / frames;
    m.cross += x[0] * x[1] / frames;
  }
  m.rms = std::sqrt(m.rms);
  return m;
}

constexpr double kToneRms = 0.25 * 0.70710678;

}  // namespace

TEST_CASE("Surface noise has the stated level and is independent between the two walls") {
  SimulatedNoise noise;
  noise.surface_noise_db = -42;
  const Moments m = moments(noise, 960'000, 1);
  CHECK_THAT(decibels(m.rms / kToneRms), WithinAbs(-42, 0.1));
  CHECK(std::abs(m.cross) < 0.02 * m.rms * m.rms);
}

TEST_CASE("Rumble and hum have the stated levels") {
  SimulatedNoise noise;
  noise.rumble_db = -30;
  // Noise 20 Hz wide has about 8,000 independent values in 200 s: 0.1 dB. The interpolation between its control points loses a little.
  CHECK_THAT(decibels(moments(noise, 9'600'000, 2).rms / kToneRms), WithinAbs(-30, 0.5));
  noise = {};
  noise.hum_db = -38;
  CHECK_THAT(decibels(moments(noise, 960'000, 3).rms / kToneRms), WithinAbs(-38, 0.05));
}

TEST_CASE("The DC offset and the rate of clicks are as stated") {
  SimulatedNoise noise;
  noise.dc_left = 0.02;
  CHECK_THAT(moments(noise, 1000, 4).mean, WithinAbs(0.02, 1e-12));
  noise = {};
  noise.clicks_per_s = 5;
  Disturbance d(noise, 48000, 0.25, Draw{5});
  int begun = 0;
  bool sounding = false;
  for (int i = 0; i < 200 * 48000; ++i) {
    const bool now = d.next()[0] != 0;
    begun += now && !sounding ? 1 : 0;
    sounding = now;
  }
  // The count is Poisson with mean 1,000, and about 1 % overlap; 4 standard deviations are allowed.
  CHECK_THAT(begun, WithinAbs(995, 130));
}
