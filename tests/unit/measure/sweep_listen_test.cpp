#include "measure/sweep_listen.hpp"

#include "support/catch.hpp"
#include "support/sweeps.hpp"

using namespace evenwall;

namespace {

constexpr double kRpm = 100.0 / 3;
constexpr double kTwoPi = 2 * 3.14159265358979323846;

struct Drawn {
  double warp_deg = 0;
  double noise = 0;
  std::uint64_t seed = 1;
  std::function<Complex(double)> response = [](double) { return std::polar(0.015, 1.0); };
};

/// A left-only 40 Hz to 16 kHz sweep of 15 s from 1 s on.
MemorySource left_sweep(const Drawn& d) {
  Canvas canvas(48000, 17.5);
  const auto hz = [](double t) { return 40 * std::pow(400.0, t / 15); };
  draw_sweep(canvas, 1, 15, hz, [&](double t) {
    const double lean = radians(d.warp_deg) * std::cos(kTwoPi * t / 1.8 + 0.7 * static_cast<double>(d.seed));
    return std::pair<Complex, Complex>(0.2, 0.2 * (d.response(hz(t)) - lean));
  });
  canvas.noise(d.noise, d.seed);
  return canvas.source();
}

std::optional<HeardBands> heard_of(MemorySource source) {
  const auto sweeps = find_sweeps(scan(source, {}, {}), source.info().sample_rate_hz);
  REQUIRE(sweeps.size() == 1);
  CHECK(sweeps[0].driven == Driven::kLeft);
  return listen_to_sweep(source, sweeps[0], kRpm);
}

}  // namespace

TEST_CASE("Without noise each third octave of a sweep has its leak") {
  const auto heard = heard_of(left_sweep({}));
  REQUIRE(heard);
  const Passage& p = heard->overall.passage;
  WARN(p.start_s << " " << p.end_s << " " << *p.frequency_from_hz << " " << *p.frequency_to_hz << " snr " << p.snr_db);
  for (const BandRatio& b : heard->bands) {
    WARN(b.frequency_hz << " err " << degrees(std::abs(b.ratio.value - std::polar(0.015, 1.0))) << " u " << degrees(b.ratio.u_re) << " lvl "
                        << std::exp(b.ln_level) << " " << b.u_ln_level);
  }
}

TEST_CASE("warp") {
  for (int k = 0; k < 6; ++k) {
    Drawn d{k % 2 ? 0.08 : 0.0, 0.2 / std::sqrt(2.0) * std::pow(10.0, -42.0 / 20), static_cast<std::uint64_t>(k + 1)};
    if (k >= 2) {
      d.response = [k](double f) {
        const Complex s(0, f / (k >= 4 ? 2000.0 : 8000.0));
        const double q = k >= 4 ? 2 : 3;
        return std::polar(0.015, 1.0) + 0.004 / (1.0 + s / q + s * s);
      };
    }
    const auto heard = heard_of(left_sweep(d));
    REQUIRE(heard);
    WARN("case " << k << " warp " << degrees(std::abs(heard->overall.once_per_revolution[0].real())) << " "
                 << degrees(std::abs(heard->overall.once_per_revolution[1].real())));
    for (const BandRatio& b : heard->bands) {
      if (b.frequency_hz > 250 && b.frequency_hz < 7000)
        WARN(b.frequency_hz << " err " << degrees((b.ratio.value - d.response(b.frequency_hz)).real()) << " u " << degrees(b.ratio.u_re));
    }
  }
}
