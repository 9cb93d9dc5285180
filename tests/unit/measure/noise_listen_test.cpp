// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/noise_listen.hpp"

#include <utility>

#include "support/catch.hpp"
#include "support/noises.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kNoiseRpm = 100.0 / 3;

/// A digital band pass of second order with the gain 1 at its centre (bilinear transform).
struct Resonance {
  double b0, a1, a2, rate_hz;
  double x1 = 0, x2 = 0, y1 = 0, y2 = 0;
  Resonance(double centre_hz, double q, double rate) : rate_hz(rate) {
    const double w = 2 * 3.14159265358979 * centre_hz / rate, alpha = std::sin(w) / (2 * q);
    b0 = alpha / (1 + alpha);
    a1 = -2 * std::cos(w) / (1 + alpha);
    a2 = (1 - alpha) / (1 + alpha);
  }
  double next(double x) {
    const double y = b0 * (x - x2) - a1 * y1 - a2 * y2;
    x2 = std::exchange(x1, x);
    y2 = std::exchange(y1, y);
    return y;
  }
  [[nodiscard]] Complex at(double f_hz) const {
    const Complex z = std::polar(1.0, -2 * 3.14159265358979 * f_hz / rate_hz);
    return b0 * (1.0 - z * z) / (1.0 + a1 * z + a2 * z * z);
  }
  /// rms about the mean over ln f in the third octave.
  [[nodiscard]] double rms_about_mean_at(double centre_hz) const {
    double sum = 0;
    for (int i = 0; i < 200; ++i) {
      sum += std::norm(at(centre_hz * std::pow(10.0, ((i + 0.5) / 200 - 0.5) / 10)) - mean_at(centre_hz)) / 200;
    }
    return std::sqrt(sum);
  }
  /// Mean over ln f in the third octave.
  [[nodiscard]] Complex mean_at(double centre_hz) const {
    Complex sum;
    for (int i = 0; i < 200; ++i) sum += at(centre_hz * std::pow(10.0, ((i + 0.5) / 200 - 0.5) / 10));
    return sum / 200.0;
  }
};

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

TEST_CASE("Near a resonance, the ratio is the mean over the third octave, whatever lines the noise happens to have") {
  // The noise of each passage has its own power in each line. Steps play the same groove, so this error would be the same at all of them.
  double squares = 0, chi2 = 0, n = 0;
  for (std::uint64_t seed = 1; seed <= 8; ++seed) {
    Canvas canvas(48000, 13);
    draw_noise(canvas, 0.5, 12, seed % 2 == 0, 0.1, 0, seed);
    Resonance resonance(4300, 5, 48000);
    for (std::size_t i = 0; i < canvas.samples.size(); i += 2)
      canvas.samples[i + 1] += static_cast<float>(0.02 * resonance.next(canvas.samples[i]));
    canvas.noise(0.1 * std::pow(10.0, -60.0 / 20), seed + 100);
    auto source = canvas.source();
    const auto heard = listen_to_noise(source, {Driven::kLeft, 0.5, 12.5}, kNoiseRpm);
    REQUIRE(heard);
    for (const BandRatio& b : heard->bands) {
      if (b.frequency_hz < 2000 || b.frequency_hz > 9000) continue;
      const Complex off = b.ratio.value - 0.02 * resonance.mean_at(b.frequency_hz);
      squares += std::norm(off);
      CHECK_THAT(b.ratio.rms_in_third_octave, WithinAbs(0.02 * resonance.rms_about_mean_at(b.frequency_hz), 3e-4));
      chi2 += std::pow(off.real() / b.ratio.u_re, 2) + std::pow(off.imag() / b.ratio.u_im, 2);
      n += 2;
    }
  }
  // Without the terms for the course within the third octave, the rms error is 1.2e-4 and chi2 / n 14.
  CHECK(std::sqrt(squares / n) < 2e-5);
  CHECK(chi2 / n > 0.6);
  CHECK(chi2 / n < 1.5);
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
