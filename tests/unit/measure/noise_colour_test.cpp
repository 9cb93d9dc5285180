// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/noise_colour.hpp"

#include "support/catch.hpp"

using namespace evenwall::internal::measure;

TEST_CASE("White noise stays white if enough blocks show it") {
  const NoiseColour colour = noise_colour({1.0, 30}, {0.9, 38}, 16);
  CHECK(colour.noise < 1.05);
  CHECK(colour.along < 0.05);
  CHECK(colour.across < 0.02);
}

TEST_CASE("Noise that is louder close to the tone on both axes is noise, not the groove's") {
  const NoiseColour colour = noise_colour({9.0, 25}, {8.0, 35}, 16);
  CHECK_THAT(colour.noise, WithinRel(8.5, 0.2));
  CHECK(colour.along < 2);
}

TEST_CASE("The axis across the lean shows the noise where the lean takes up all freedom") {
  const NoiseColour colour = noise_colour({1.0, 0}, {20.0, 10}, 1);
  CHECK(colour.noise > 10);
}

TEST_CASE("What only the lean's axis has beyond white noise is a slow change along it") {
  const NoiseColour colour = noise_colour({10.0, 25}, {1.0, 35}, 10);
  CHECK(colour.noise < 1.5);
  CHECK_THAT(colour.along, WithinRel(9.0, 0.3));
}

TEST_CASE("Without freedom a slow change of the usual size remains possible, in proportion to what it can do") {
  const NoiseColour little = noise_colour({0.0, 0}, {0.0, 0}, 1);
  const NoiseColour more = noise_colour({0.0, 0}, {0.0, 0}, 100);
  CHECK(little.along > 0.1);
  CHECK_THAT(more.along / little.along, WithinRel(100.0, 1e-6));
}
