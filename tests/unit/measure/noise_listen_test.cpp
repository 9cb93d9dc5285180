// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/noise_listen.hpp"

#include "support/catch.hpp"
#include "support/noises.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kNoiseRpm = 100.0 / 3;

}  // namespace

TEST_CASE("With warp, every third octave of pink noise gives the true crosstalk within its stated uncertainty") {
  double chi2 = 0, n = 0;
  for (std::uint64_t seed = 1; seed <= 8; ++seed) {
    Canvas canvas(48000, 9);
    draw_noise(canvas, 0.5, 8, true, 0.1, 0.0015, seed,
               [](double t) { return radians(0.08) * std::cos(2 * 3.14159265358979 * t / 1.8 + 0.4); });
    canvas.noise(0.1 * std::pow(10.0, -42.0 / 20), seed + 100);
    auto source = canvas.source();
    const auto heard = listen_to_noise(source, {Driven::kLeft, 0.5, 8.5}, kNoiseRpm);
    REQUIRE(heard);
    CHECK(heard->overall.passage.kind == PassageKind::kNoise);
    CHECK(heard->bands.size() == 23);  // 100 Hz to 16 kHz
    CHECK_THAT(degrees(heard->overall.once_per_revolution[0].real()),
               WithinAbs(-0.08 * std::cos(0.4 + 2 * 3.14159265358979 * 4 / 1.8), 0.01));
    for (const BandRatio& b : heard->bands) {
      chi2 += std::pow((b.ratio.value.real() - 0.015) / b.ratio.u_re, 2) + std::pow(b.ratio.value.imag() / b.ratio.u_im, 2);
      n += 2;
      CHECK(std::abs(b.ratio.value - 0.015) < 6 * b.ratio.u_re + 6 * b.ratio.u_im);
    }
  }
  // The mean of 368 squares is known to 7 %. Covariances from about sixty blocks enlarge it by 4 %.
  CHECK(chi2 / n > 0.75);
  CHECK(chi2 / n < 1.35);
}

TEST_CASE("Levels and meter readings are those of the noise, and a passage that is too short gives no result") {
  Canvas canvas(48000, 9);
  draw_noise(canvas, 0.5, 8, false, 0.1, 0.01, 3);
  auto source = canvas.source();
  const auto heard = listen_to_noise(source, {Driven::kLeft, 0.5, 8.5}, kNoiseRpm);
  REQUIRE(heard);
  const auto at = at_frequency(heard->bands, 1000);
  REQUIRE(at);
  // The band holds 231 of 24000 Hz; the level is that of a sine of the same power. 1800 independent values determine it to 0.1 dB.
  CHECK_THAT(at->ln_level, WithinAbs(std::log(0.1 * std::sqrt(2 * 230.8 / 24000)), 0.05));
  CHECK_THAT(at->u_ln_level, WithinAbs(0.5 / std::sqrt(230.8 * 8), 0.004));
  CHECK_THAT(*at->band_db, WithinAbs(-20, 0.01));
  CHECK_FALSE(listen_to_noise(source, {Driven::kLeft, 0.5, 1.0}, kNoiseRpm));
}
