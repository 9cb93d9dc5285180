// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/noise_passages.hpp"

#include "measure/scan.hpp"
#include "support/catch.hpp"
#include "support/noises.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

std::vector<NoiseStretch> noise_of(const Canvas& canvas, const std::vector<Span>& taken = {}) {
  auto source = canvas.source();
  OctaveScan octaves;
  scan(source, {}, {}, [&](const ScanFrame& look, const OctaveFrame& frame) { octaves.add(look.middle_s, frame); });
  return find_noise(octaves, taken);
}

Canvas with_noise(bool pink, double left, double right) {
  Canvas canvas(48000, 11);
  draw_noise(canvas, 1.5, 8, pink, left, right, 7);
  canvas.noise(2e-4, 8);
  return canvas;
}

}  // namespace

TEST_CASE("Pink and white noise are found with their driven channel and with edges to within 0.1 s") {
  for (const bool pink : {true, false}) {
    for (const auto& [left, right, driven] : {std::tuple(0.1, 0.003, Driven::kLeft), std::tuple(-0.004, 0.1, Driven::kRight),
                                              std::tuple(0.1, 0.1, Driven::kBoth), std::tuple(0.1, -0.09, Driven::kBoth)}) {
      INFO((pink ? "pink " : "white ") << left << " " << right);
      const auto found = noise_of(with_noise(pink, left, right));
      REQUIRE(found.size() == 1);
      CHECK(found[0].driven == driven);
      CHECK_THAT(found[0].start_s, WithinAbs(1.5, 0.1));
      CHECK_THAT(found[0].end_s, WithinAbs(9.5, 0.1));
    }
  }
}

TEST_CASE("Clicks do not hide noise, and two passages remain separate") {
  Canvas canvas(48000, 20);
  draw_noise(canvas, 1.5, 7, true, 0.1, 0.003, 3);
  draw_noise(canvas, 10, 7, true, 0.1, 0.003, 4);
  rig::Draw draw(5);
  for (double t = 1; t < 19; t += draw.uniform(0.05, 0.35)) {
    for (int i = 0; i < 60; ++i)
      canvas.samples[2 * static_cast<std::size_t>(48000 * t) + static_cast<std::size_t>(i)] += static_cast<float>(0.3 * draw.normal());
  }
  const auto found = noise_of(canvas.noise(2e-4, 9));
  REQUIRE(found.size() == 2);
  CHECK_THAT(found[0].end_s, WithinAbs(8.5, 0.1));
  CHECK_THAT(found[1].start_s, WithinAbs(10, 0.1));
}

TEST_CASE("Hiss, independent noise, tones, bursts, fades and stretches in use are not taken for noise passages") {
  CHECK(noise_of(Canvas(48000, 10).noise(0.05, 5)).empty());  // independent in both channels
  CHECK(noise_of(Canvas(48000, 10).noise(1e-3, 5)).empty());  // surface noise
  Canvas one_sided(48000, 10);                                // a noisy preamplifier: its noise does not reach the other channel
  one_sided.noise(0.05, 6);
  rig::Draw draw(2);
  for (std::size_t i = 1; i < one_sided.samples.size(); i += 2) one_sided.samples[i] = static_cast<float>(1e-3 * draw.normal());
  CHECK(noise_of(one_sided).empty());
  CHECK(noise_of(Canvas(48000, 10).tone(1, 8, 1000, 0.2, 0.002).noise(1e-4, 5)).empty());
  Canvas bursts(48000, 12);
  for (double t = 1; t < 11; t += 0.8) draw_noise(bursts, t, 0.4, true, 0.1, 0.003, static_cast<std::uint64_t>(100 * t));
  CHECK(noise_of(bursts.noise(1e-4, 5)).empty());
  Canvas fading(48000, 12);
  for (int k = 0; k < 20; ++k)
    draw_noise(fading, 1 + 0.5 * k, 0.5, true, 0.1 * std::pow(0.75, k), 0.003 * std::pow(0.75, k), static_cast<std::uint64_t>(k + 1));
  CHECK(noise_of(fading.noise(1e-4, 5)).empty());
  CHECK(noise_of(with_noise(true, 0.1, 0.003), {{0, 12}}).empty());
}

TEST_CASE("Noise with a fluctuating level is rejected, and noise with the usual wander of a record is accepted") {
  const auto shaken = [](double depth, double rate_hz) {
    Canvas canvas = with_noise(true, 0.003, 0.1);
    for (std::size_t i = 0; i < canvas.samples.size(); ++i) {
      canvas.samples[i] *= static_cast<float>(1 + depth * std::sin(2 * 3.14159265 * rate_hz * static_cast<double>(i / 2) / 48000));
    }
    return noise_of(canvas).size();
  };
  CHECK(shaken(0.04, 0.55) == 1);  // 0.35 dB either way, once a revolution
  CHECK(shaken(0.3, 4) == 0);      // 2.3 dB, within the blocks
  CHECK(shaken(0.2, 0.3) == 0);    // 1.6 dB, from block to block
}

TEST_CASE("Noise beside digital silence is not taken for a noise passage") {
  // The residue of the arithmetic there, at −140 dB and in phase with the loud channel, is not crosstalk.
  Canvas canvas(48000, 11);
  draw_noise(canvas, 1.5, 8, true, 0.1, 1e-8, 7);
  CHECK(noise_of(canvas).empty());
}
