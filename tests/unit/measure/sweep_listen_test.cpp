// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sweep_listen.hpp"

#include "support/catch.hpp"
#include "support/statistics.hpp"
#include "support/sweeps.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kSweptRpm = 100.0 / 3;
const Complex kSweptLeak = std::polar(0.015, 1.0);
const double kSurfaceNoise = 0.2 / std::sqrt(2.0) * std::pow(10.0, -42.0 / 20);  // rms, 42 dB below the sweep

struct DrawnSweep {
  double warp_deg = 0;
  double noise = 0;
  std::uint64_t seed = 1;
  std::function<Complex(double)> response = [](double) { return kSweptLeak; };
};

/// A left-only sweep from 40 Hz to 16 kHz that begins at 1 s and lasts 15 s.
MemorySource left_sweep(const DrawnSweep& d) {
  Canvas canvas(48000, 17.5);
  const auto hz = [](double t) { return 40 * std::pow(400.0, t / 15); };
  draw_sweep(canvas, 1, 15, hz, [&](double t) {
    const double lean = radians(d.warp_deg) * std::cos(kTwoPi * t / 1.8 + 0.7 * static_cast<double>(d.seed));
    return std::pair<Complex, Complex>(0.2, 0.2 * (d.response(hz(t)) - lean));
  });
  canvas.noise(d.noise, d.seed);
  return canvas.source();
}

HeardBands heard_of(MemorySource source) {
  const auto sweeps = find_sweeps(scan(source, {}, {}), source.info().sample_rate_hz);
  REQUIRE(sweeps.size() == 1);
  REQUIRE(sweeps[0].driven == Driven::kLeft);
  auto heard = listen_to_sweep(source, sweeps[0], kSweptRpm);
  REQUIRE(heard);
  return *heard;
}

/// The response's mean over a third octave of ln f.
Complex mean_response(const DrawnSweep& d, double centre_hz) {
  Complex mean = 0;
  for (int i = 0; i < 40; ++i) mean += d.response(centre_hz * std::pow(10.0, 0.05 * ((i + 0.5) / 20 - 1))) / 40.0;
  return mean;
}

/// Root mean square of the real parts' errors between 300 Hz and 6 kHz, degrees, and of their stated standard uncertainties.
std::pair<double, double> error_and_stated_deg(const HeardBands& heard, const DrawnSweep& d) {
  double error = 0, stated = 0, n = 0;
  for (const BandRatio& b : heard.bands) {
    if (b.frequency_hz < 300 || b.frequency_hz > 6400) continue;
    error += std::pow(degrees((b.ratio.value - mean_response(d, b.frequency_hz)).real()), 2);
    stated += std::pow(degrees(b.ratio.u_re), 2);
    n += 1;
  }
  REQUIRE(n == 14);  // 316 Hz to 6.3 kHz
  return {std::sqrt(error / n), std::sqrt(stated / n)};
}

std::function<Complex(double)> resonant(double f0_hz, double q, double size) {
  return [=](double f) {
    const Complex s(0, f / f0_hz);
    return kSweptLeak + size * (s / q) / (1.0 + s / q + s * s);
  };
}

}  // namespace

TEST_CASE("Without noise, a sweep gives its true ends, and the true crosstalk and level in every third octave") {
  const HeardBands heard = heard_of(left_sweep({}));
  const Passage& p = heard.overall.passage;
  CHECK(p.kind == PassageKind::kSweep);
  CHECK_THAT(p.start_s, WithinAbs(1, 0.1));  // the required accuracy; a window at 40 Hz lasts 0.2 s
  CHECK_THAT(p.end_s, WithinAbs(16, 0.02));
  // ln f rises by 0.4 per second. The limit is less than an error of 0.1 s would cause.
  CHECK_THAT(*p.frequency_from_hz, WithinRel(40.0, 0.03));
  CHECK_THAT(*p.frequency_to_hz, WithinRel(16000.0, 0.01));
  CHECK_THAT(p.level_left_dbfs, WithinAbs(decibels(0.2), 0.01));
  REQUIRE(heard.bands.size() == 25);  // 50 Hz to 12.5 kHz
  for (const BandRatio& b : heard.bands) {
    INFO(b.frequency_hz);
    // Float samples cause an error of 1e-7 of the driven channel, and the curve's stiffness adds to it.
    CHECK(std::abs(b.ratio.value - kSweptLeak) < 3e-6);
    CHECK_THAT(b.ln_level, WithinAbs(std::log(0.2), 1e-4));
  }
}

TEST_CASE("Warp is subtracted from a sweep although each third octave passes in less than a revolution") {
  double error2 = 0;
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    const DrawnSweep d{0.08, kSurfaceNoise, seed};
    const HeardBands heard = heard_of(left_sweep(d));
    error2 += std::pow(error_and_stated_deg(heard, d).first, 2) / 6;
    const auto& once = heard.overall.once_per_revolution;
    CHECK_THAT(degrees(std::hypot(once[0].real(), once[1].real())), WithinAbs(0.08, 0.005));  // noise of 0.0007° per part, ×5
    CHECK_FALSE(heard.doubtful_warp_deg);
  }
  INFO("rms error " << std::sqrt(error2) << " deg, seeds 1 to 6");
  // Warp that is not subtracted would give 0.057°. Noise alone gives 0.0018° per band. The bound for 0.58 s of one band is 0.0027°; the
  // curve's stiffness lowers it.
  CHECK(std::sqrt(error2) < 0.004);
}

TEST_CASE("A resonance is not taken for warp, or the uncertainty covers its effect") {
  for (const auto& [f0, q] : {std::pair(8000.0, 3.0), std::pair(2000.0, 2.0)}) {
    for (const double warp : {0.0, 0.08}) {
      for (std::uint64_t seed = 1; seed <= 3; ++seed) {
        const DrawnSweep d{warp, kSurfaceNoise, seed, resonant(f0, q, 0.01)};
        const auto [error, stated] = error_and_stated_deg(heard_of(left_sweep(d)), d);
        INFO("resonance " << f0 << " Hz, warp " << warp << ", seed " << seed << ": error " << error << ", stated " << stated);
        CHECK(error < 2 * stated);  // rms over 14 correlated bands: two standard uncertainties
        CHECK(error < 0.008);       // 0.57° of resonance, mistaken for warp, would be 0.02° everywhere
      }
    }
  }
}

TEST_CASE("The stated uncertainties of a sweep fit the errors that noise causes") {
  double error2 = 0, stated2 = 0;
  for (std::uint64_t seed = 1; seed <= drawn(20U); ++seed) {
    const DrawnSweep d{0, kSurfaceNoise, seed};
    const auto [error, stated] = error_and_stated_deg(heard_of(left_sweep(d)), d);
    error2 += error * error / 20;
    stated2 += stated * stated / 20;
  }
  if (few_sessions()) return;
  INFO("rms error " << std::sqrt(error2) << ", stated " << std::sqrt(stated2) << ", seeds 1 to 20");
  // Of the 14 bands of each of the 20 sweeps about five are independent, so the ratio is known to 10 %. The uncertainty of warp adds up to
  // a half.
  CHECK(std::sqrt(stated2 / error2) > 0.85);
  CHECK(std::sqrt(stated2 / error2) < 1.8);
}

TEST_CASE("A resonance of Q 6 is followed, and the crosstalk is the mean over each third octave") {
  for (std::uint64_t seed = 1; seed <= drawn(6U); ++seed) {
    const DrawnSweep d{0.05, kSurfaceNoise, seed, resonant(3000 + 100.0 * static_cast<double>(seed), 6, 0.05)};
    const auto [error, stated] = error_and_stated_deg(heard_of(left_sweep(d)), d);
    INFO("seed " << seed << ": error " << error << ", stated " << stated);
    CHECK(error < 0.01);  // with eight knots per octave 0.02° to 0.1°
    CHECK(error < 3 * stated);
  }
}

TEST_CASE("The power of a resonance about the mean of a third octave is stated") {
  for (std::uint64_t seed = 1; seed <= drawn(4U); ++seed) {
    const DrawnSweep d{0.05, kSurfaceNoise, seed, resonant(3000 + 100.0 * static_cast<double>(seed), 6, 0.05)};
    for (const BandRatio& b : heard_of(left_sweep(d)).bands) {
      if (b.frequency_hz < 300 || b.frequency_hz > 6400) continue;
      const Complex mean = mean_response(d, b.frequency_hz);
      double square = 0;
      for (int i = 0; i < 40; ++i) {
        square += std::norm(d.response(b.frequency_hz * std::pow(10.0, 0.05 * ((i + 0.5) / 20 - 1))) - mean) / 40;
      }
      INFO("seed " << seed << ", " << b.frequency_hz << " Hz");
      CHECK_THAT(b.ratio.rms_in_third_octave, WithinAbs(std::sqrt(square), 0.0006));  // the resonance has 0.01 at its peak
    }
  }
}
