// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/groove_noise.hpp"

#include <numbers>
#include <vector>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::simulate;

namespace {

/// Mean power at a frequency (a fraction of the sample rate, of either sign) over Hann-weighted stretches.
double power_at(const std::vector<Complex>& x, double frequency) {
  const std::size_t n = 1024;
  double sum = 0;
  for (std::size_t first = 0; first + n <= x.size(); first += n) {
    Complex z;
    for (std::size_t i = 0; i < n; ++i) {
      const double w = 0.5 - 0.5 * std::cos(2 * std::numbers::pi * static_cast<double>(i) / n);
      z += w * x[first + i] * std::polar(1.0, -2 * std::numbers::pi * frequency * static_cast<double>(i));
    }
    sum += std::norm(z);
  }
  return sum / static_cast<double>(x.size() / n);
}

std::vector<Complex> drawn(bool pink, std::uint64_t seed) {
  GrooveNoise noise(pink, Draw{seed});
  std::vector<Complex> x(1'000'000);
  for (Complex& z : x) z = noise.next();
  return x;
}

}  // namespace

TEST_CASE("Groove noise is one-sided and has the rms of a sine") {
  for (const bool pink : {false, true}) {
    const auto x = drawn(pink, 3);
    double square = 0;
    for (const Complex z : x) square += z.real() * z.real() / static_cast<double>(x.size());
    CHECK_THAT(square, WithinRel(0.5, 0.05));  // pink: its slowest parts have a few hundred independent values
    // 480 Hz to 19 kHz at 48 kHz. A quarter turn accurate to 2.7e-4 rad leaves −77 dB, and the Hann window's leakage from
    // ten lines away leaves about −60 dB.
    for (const double f : {0.01, 0.083, 0.1, 0.4}) CHECK(power_at(x, -f) < 3e-6 * power_at(x, f));
  }
}

TEST_CASE("Pink noise falls by 3 dB per octave, and white noise is level") {
  const auto pink = drawn(true, 4), white = drawn(false, 4);
  const double step_db = 10 * std::log10(power_at(pink, 0.02) / power_at(pink, 0.16));
  CHECK_THAT(step_db, WithinAbs(9.03, 0.8));  // 976 stretches: 0.14 dB each; the filters ripple by half a decibel
  CHECK_THAT(10 * std::log10(power_at(white, 0.02) / power_at(white, 0.16)), WithinAbs(0, 0.8));
}
