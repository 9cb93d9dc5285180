// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/hum.hpp"

#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

/// 8 s of hum on both channels, with harmonics that fall as 1/k.
Canvas hum_of(double mains_hz, double amplitude, int harmonics = 10) {
  Canvas canvas(48000, 8);
  for (int k = 1; k <= harmonics; ++k) canvas.tone(0, 8, k * mains_hz, amplitude / k, 0.8 * amplitude / k);
  canvas.noise(1e-4, 3);
  return canvas;
}

}  // namespace

TEST_CASE("The level and the mains frequency of hum are measured beside a tone") {
  for (const double mains_hz : {50.0, 60.0}) {
    auto source = hum_of(mains_hz, 0.01).tone(2, 4, 1000, 0.2, 0.002).source();
    const Hum hum = hum_beside(source, 2, 6, 1000);
    CHECK(hum.mains_hz == mains_hz);
    // Six lines that fall as 1/k have 10·log10(1 + 1/4 + … + 1/36) = 1.74 dB more than the first at -40. Bins off a line lose up to 1.4 dB.
    CHECK_THAT(hum.level_dbfs, WithinAbs(-38.3, 1.5));
    CHECK_FALSE(hum.is_the_tone);
  }
}

TEST_CASE("Noise is not taken for hum") {
  auto source = Canvas(48000, 8).noise(0.02, 4).tone(2, 4, 1000, 0.2, 0.002).source();
  CHECK(hum_beside(source, 2, 6, 1000).mains_hz == 0);
}

TEST_CASE("A hum harmonic that resembles a tone is identified, and a true tone at a mains harmonic is not taken for hum") {
  auto hum = hum_of(60, 0.01).tone(0, 8, 180, 0.05, 0.001).source();
  CHECK(hum_beside(hum, 0.5, 7.5, 180).is_the_tone);
  auto tone = hum_of(60, 0.01).tone(2, 4, 300, 0.1, 0.002).source();  // it has edges, so it is a band of the record
  CHECK_FALSE(hum_beside(tone, 2, 6, 300).is_the_tone);
  auto off_grid = hum_of(60, 0.01).tone(0, 8, 315, 0.1, 0.002).source();
  CHECK_FALSE(hum_beside(off_grid, 0.5, 7.5, 315).is_the_tone);
  auto alone = Canvas(48000, 8).tone(0, 8, 300, 0.1, 0.002).noise(1e-4, 5).source();  // a trimmed capture of one band
  CHECK_FALSE(hum_beside(alone, 0, 8, 300).is_the_tone);
}
