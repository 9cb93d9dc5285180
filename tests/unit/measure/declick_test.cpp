// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/declick.hpp"

#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kAmplitude = 0.1;

Canvas tone_in_noise() { return Canvas(48000, 3).tone(0, 3, 1000, kAmplitude, 0.01 * kAmplitude).noise(0.002, 9); }

/// Adds bursts of half a millisecond with ten times the tone's peak, 40 per second.
void add_clicks(Canvas& canvas) {
  rig::Draw draw(10);
  for (int click = 0; click < 120; ++click) {
    const auto at = static_cast<std::size_t>(draw.uniform(100, 3 * 48000 - 200));
    for (std::size_t n = 0; n < 24; ++n) {
      const double burst = 10 * kAmplitude * (n % 2 == 0 ? 1.0 : -1.0) * std::exp(-static_cast<double>(n) / 8);
      canvas.samples[2 * (at + n)] += static_cast<float>(0.7 * burst);
      canvas.samples[2 * (at + n) + 1] += static_cast<float>(burst);
    }
  }
}

double rms_difference(AudioSource& cleaned, const Canvas& truth) {
  std::vector<float> got(truth.samples.size());
  cleaned.read(0, static_cast<std::int64_t>(got.size() / 2), got.data());
  double sum = 0;
  for (std::size_t i = 0; i < got.size(); ++i) sum += std::pow(static_cast<double>(got[i] - truth.samples[i]), 2);
  return std::sqrt(sum / static_cast<double>(got.size()));
}

}  // namespace

TEST_CASE("Clicks are replaced, and the remaining error of the tone is smaller than its noise") {
  const Canvas clean = tone_in_noise();
  Canvas clicked = clean;
  add_clicks(clicked);
  auto source = clicked.source();
  DeclickedStretch stretch(source, 0, 3 * 48000, 1000);
  CHECK(rms_difference(source, clean) > 0.02);
  // 5 % of the samples are replaced by the tone without their noise of 0.002, which gives 0.00045. The parts of clicks below the threshold
  // double it.
  CHECK(rms_difference(stretch, clean) < 0.001);
  CHECK(stretch.replaced_fraction() > 0.02);
  CHECK(stretch.replaced_fraction() < 0.12);
}

TEST_CASE("Without clicks, fewer than one sample in 500 is replaced") {
  const Canvas clean = tone_in_noise();
  auto source = clean.source();
  DeclickedStretch stretch(source, 0, 3 * 48000, 1000);
  CHECK(rms_difference(stretch, clean) < 1e-4);
  // Noise exceeds the threshold in one sample in 150,000 of each channel. With a margin of 20 samples, 3e-4 of the samples are replaced.
  CHECK(stretch.replaced_fraction() < 2e-3);
}

TEST_CASE("The declicked stretch keeps its position in time, and before it there is silence") {
  auto source = tone_in_noise().source();
  DeclickedStretch stretch(source, 48000, 96000, 1000);
  CHECK(stretch.frames() == 96000);
  std::vector<float> before(20), inside(20), there(20);
  CHECK(stretch.read(40000, 10, before.data()) == 10);
  CHECK(before == std::vector<float>(20));
  CHECK(stretch.read(60000, 10, inside.data()) == 10);
  source.read(60000, 10, there.data());
  CHECK_THAT(static_cast<double>(inside[0]), WithinAbs(static_cast<double>(there[0]), 0.02));
  CHECK(stretch.read(95995, 10, inside.data()) == 5);
}
