// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/fft.hpp"

#include <cmath>
#include <numbers>

#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

TEST_CASE("The spectra of both channels equal sums computed directly") {
  const std::size_t n = 64;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    rig::Draw draw(seed);
    std::vector<float> stereo(2 * n);
    for (float& x : stereo) x = static_cast<float>(draw.normal());
    StereoSpectrum spectrum(hann_window(n));
    const TwoSpectra& s = spectrum.transform(stereo.data());
    REQUIRE(s.left.size() == n / 2 + 1);
    INFO("seed " << seed);
    for (std::size_t k = 0; k <= n / 2; ++k) {
      std::complex<double> left, right;
      for (std::size_t i = 0; i < n; ++i) {
        const double angle = -2 * std::numbers::pi * static_cast<double>(k * i) / static_cast<double>(n);
        const double w = 0.5 - 0.5 * std::cos(2 * std::numbers::pi * static_cast<double>(i) / static_cast<double>(n));
        left += w * static_cast<double>(stereo[2 * i]) * std::polar(1.0, angle);
        right += w * static_cast<double>(stereo[2 * i + 1]) * std::polar(1.0, angle);
      }
      CHECK(std::abs(s.left[k] - left) < 1e-12);  // 64 terms of order one: rounding 1e-14
      CHECK(std::abs(s.right[k] - right) < 1e-12);
    }
  }
}

TEST_CASE("The Hann window's figures of merit are the published ones") {
  // F. J. Harris, Proc. IEEE 66(1), 1978, table I: coherent gain 0.50, equivalent noise bandwidth 1.50 bins (from memory).
  const auto w = hann_window(4096);
  double sum = 0, squares = 0;
  for (const double x : w) sum += x, squares += x * x;
  CHECK_THAT(sum / 4096, WithinAbs(0.50, 1e-12));
  CHECK_THAT(4096 * squares / (sum * sum), WithinAbs(1.50, 1e-12));
}

TEST_CASE("The response of a Hann window to a detuned sine equals a sum computed directly") {
  for (const double x : {0.0, 0.3, 1.0, 1.4}) {
    std::complex<double> sum;
    double weight = 0;
    const int n = 1000;
    for (int i = 0; i < n; ++i) {
      const double w = 0.5 - 0.5 * std::cos(2 * 3.14159265358979 * (i + 0.5) / n);
      sum += w * std::polar(1.0, 2 * 3.14159265358979 * x * (i + 0.5) / n);
      weight += w;
    }
    CHECK_THAT(hann_response(x), WithinAbs(std::abs(sum) / weight, 1e-5));  // midpoints of 1000 steps
  }
}
