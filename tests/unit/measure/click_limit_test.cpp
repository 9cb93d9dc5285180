// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/click_limit.hpp"

#include <algorithm>
#include <cmath>

#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall::internal::measure;

namespace {

/// One frame of the scan at 96 kHz: a tone of peak 0.3 on the left channel and of 0.006 on the right one.
std::vector<float> tone(double frequency_hz) { return Canvas(96000, 4096 / 96000.0).tone(0, 1, frequency_hz, 0.3, 0.006).samples; }

}  // namespace

TEST_CASE("A sine is never limited, even if its frequency divides the sample rate") {
  for (const double f : {150.0, 997.0, 1000.0, 6000.0, 12000.0, 96000.0 / 7, 16000.0, 40000.0}) {
    INFO(f);
    auto block = tone(f);
    const auto before = block;
    CHECK(limit_clicks(block) == 0);
    CHECK(block == before);
  }
}

TEST_CASE("A click is limited to four times the median magnitude, and its power is returned") {
  auto block = tone(997);
  double expected = 0;
  for (std::size_t n = 2000; n < 2010; ++n) {
    block[2 * n] = 0.99F;
    block[2 * n + 1] = -0.5F;
  }
  auto limited = block;
  const double removed = limit_clicks(limited);
  // The median magnitude of a sine is 0.707 of its peak. The left channel's limit, 0.85, lies below the click by 0.14, the right one's by
  // 0.48.
  for (std::size_t n = 2000; n < 2010; ++n) {
    CHECK_THAT(limited[2 * n], WithinAbs(4 * 0.707 * 0.3, 0.05));
    CHECK_THAT(limited[2 * n + 1], WithinAbs(-4 * 0.707 * 0.006, 0.001));
    for (const std::size_t c : {0U, 1U}) expected += std::pow(static_cast<double>(block[2 * n + c] - limited[2 * n + c]), 2) / 4096;
  }
  CHECK_THAT(removed, WithinRel(expected, 1e-4));
  CHECK(std::equal(limited.begin(), limited.begin() + 4000, block.begin()));
}

TEST_CASE("A click in silence is not limited") {
  std::vector<float> silence(8192);
  silence[100] = 0.5F;
  CHECK(limit_clicks(silence) == 0);
  CHECK(silence[100] == 0.5F);
  std::vector<float> nothing;
  CHECK(limit_clicks(nothing) == 0);
}

TEST_CASE("Only clicks with enough power may hide a tone") {
  // Noise: its line has 2 % of the power, and limiting removes a thousandth.
  CHECK_FALSE(may_hide_a_tone(0.02, 1e-6, 1e-9));
  // A click with nine tenths of the power.
  CHECK(may_hide_a_tone(0.08, 1e-4, 9e-5));
  // The line lies just below a threshold: a small click may hide it. The line of a clear tone is above both.
  CHECK(may_hide_a_tone(0.49, 1e-4, 1e-6));
  CHECK_FALSE(may_hide_a_tone(0.45, 1e-4, 1e-6));
  CHECK(may_hide_a_tone(0.099, 1e-4, 1e-6));
  CHECK_FALSE(may_hide_a_tone(0.6, 1e-4, 5e-5));
}
