// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/third_octaves.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

TEST_CASE("Centre frequencies follow the base-ten system, and only whole one-third octaves count") {
  const auto centres = third_octave_centres(280, 6400);
  REQUIRE(centres.size() == 13);
  // Exact centres of IEC 61260-1:2014, base ten (from memory): 316.23, ..., 1000, 1258.9, ..., 5011.9.
  CHECK_THAT(centres.front(), WithinAbs(316.2278, 1e-4));
  CHECK(centres[5] == 1000.0);
  CHECK_THAT(centres[6], WithinAbs(1258.925, 1e-3));
  CHECK_THAT(centres.back(), WithinAbs(5011.872, 1e-3));
  CHECK(third_octave_centres(950, 1100).empty());
}

TEST_CASE("Between centres the ratio is interpolated linearly in ln f, and beyond the centres no value is returned") {
  const std::vector<BandRatio> bands{{1000, {{0.01, 0.02}, 1e-4, 2e-4, 0}, -1, 0.01, -30.0},
                                     {1258.9254117941673, {{0.03, 0.0}, 3e-4, 2e-4, 0}, -2, 0.02, -32.0}};
  CHECK(at_frequency(bands, 1000)->ratio.value == Complex(0.01, 0.02));
  const auto half = at_frequency(bands, 1000 * std::pow(10, 0.05));
  REQUIRE(half);
  CHECK(std::abs(half->ratio.value - Complex(0.02, 0.01)) < 1e-12);
  CHECK_THAT(half->ln_level, WithinAbs(-1.5, 1e-12));
  CHECK_THAT(half->ratio.u_re, WithinAbs(2e-4, 1e-12));  // as if the two were fully correlated
  CHECK_THAT(*half->band_db, WithinAbs(-31, 1e-9));
  CHECK_FALSE(at_frequency(bands, 900));
  CHECK_FALSE(at_frequency(bands, 1400));
  CHECK_FALSE(at_frequency({}, 1000));
}
