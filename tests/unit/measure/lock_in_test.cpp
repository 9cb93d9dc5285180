// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/lock_in.hpp"

#include <numbers>

#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

/// A frame's amplitude as a plain sum: Hann window, one exponential, 2/Σw.
Complex slow_amplitude(const std::vector<float>& x, std::size_t channel, std::size_t first, std::size_t size, double f, double rate) {
  Complex sum;
  for (std::size_t n = 0; n < size; ++n) {
    const double w = 0.5 - 0.5 * std::cos(2 * std::numbers::pi * static_cast<double>(n) / static_cast<double>(size));
    const double turn = 2 * std::numbers::pi * std::fmod(f * static_cast<double>(first + n) / rate, 1.0);
    sum += w * static_cast<double>(x[2 * (first + n) + channel]) * std::polar(1.0, -turn);
  }
  return 4.0 / static_cast<double>(size) * sum;
}

}  // namespace

TEST_CASE("Frames that are composed of hop sums equal Hann-windowed sums computed directly") {
  for (const double rate : {8000.0, 44100.0, 48000.0, 96000.0}) {
    for (std::uint64_t seed = 1; seed <= 5; ++seed) {
      rig::Draw draw(seed);
      const double f = draw.uniform(250, 3000);
      Canvas canvas(rate, 0.2);
      canvas.noise(0.3, seed);
      LockIn lock_in(rate, f, 0);
      const std::size_t hop = lock_in.hop_frames();
      for (std::size_t h = 0; (h + 1) * hop <= canvas.samples.size() / 2; ++h) lock_in.add_hop(canvas.samples.data() + 2 * h * hop);
      const LockInFrames frames = lock_in.frames();
      REQUIRE(frames.left.size() > 10);
      INFO("rate " << rate << ", seed " << seed);
      for (std::size_t k = 0; k < frames.left.size(); ++k) {
        // The products have single precision: errors of 6e-8 of 0.3, averaged.
        CHECK(std::abs(frames.left[k] - slow_amplitude(canvas.samples, 0, k * hop, 4 * hop, f, rate)) < 2e-7);
        CHECK(std::abs(frames.right[k] - slow_amplitude(canvas.samples, 1, k * hop, 4 * hop, f, rate)) < 2e-7);
      }
      CHECK_THAT(frames.middle_s(0), WithinAbs(2.0 * static_cast<double>(hop) / rate, 1e-12));
    }
  }
}

TEST_CASE("A sample that is not a number affects only the frames that contain it") {
  Canvas canvas(48000, 0.2);
  canvas.tone(0, 0.2, 1000, 0.5, 0.5);
  canvas.samples[2 * 4000] = std::nanf("");
  LockIn lock_in(48000, 1000, 0);
  for (std::size_t h = 0; (h + 1) * 256 <= 9600; ++h) lock_in.add_hop(canvas.samples.data() + 2 * h * 256);
  const LockInFrames frames = lock_in.frames();
  int spoiled = 0;
  for (const Complex& z : frames.left) spoiled += z == Complex{0, 0} ? 1 : 0;
  CHECK(spoiled == 4);
  for (const Complex& z : frames.right) CHECK_THAT(std::abs(z), WithinAbs(0.5, 1e-5));
}
