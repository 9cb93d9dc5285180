// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/units.hpp"

#include "support/catch.hpp"

using namespace evenwall;

TEST_CASE("A tilt of one degree gives crosstalk of −35.16 dB") {
  // 20·log10(tan 1°) = −35.1616 dB (mpmath).
  CHECK_THAT(decibels(std::tan(radians(1.0))), WithinAbs(-35.1616, 5e-5));
  CHECK_THAT(amplitude_ratio(decibels(0.37)), WithinRel(0.37, 1e-14));
  CHECK_THAT(degrees(radians(12.5)), WithinRel(12.5, 1e-15));
  CHECK(phase_deg({0, 2}) == Approx(90));
  CHECK_THAT(kDbPerNeper, WithinAbs(8.685889638, 1e-9));
}
