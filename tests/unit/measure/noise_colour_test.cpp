// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/noise_colour.hpp"

#include "support/catch.hpp"

using namespace evenwall::internal::measure;

TEST_CASE("Noise that enough blocks show to be white is modelled as white") {
  const NoiseColour colour = noise_colour({1.0, 30}, {0.9, 38}, 16);
  CHECK(colour.noise < 1.05);
  CHECK(colour.along < 0.05);
  CHECK(colour.across < 0.02);
}

TEST_CASE("Noise that is louder near the tone on both axes counts as noise, and not as the groove's part") {
  const NoiseColour colour = noise_colour({9.0, 25}, {8.0, 35}, 16);
  CHECK_THAT(colour.noise, WithinRel(8.5, 0.2));
  CHECK(colour.along < 2);
}

TEST_CASE("If the lean uses all degrees of freedom along its axis, the axis across it determines the noise") {
  const NoiseColour colour = noise_colour({1.0, 0}, {20.0, 10}, 1);
  CHECK(colour.noise > 10);
}

TEST_CASE("If only the axis of the lean exceeds white noise, the excess counts as a slow change along the lean") {
  const NoiseColour colour = noise_colour({10.0, 25}, {1.0, 35}, 10);
  CHECK(colour.noise < 1.5);
  CHECK_THAT(colour.along, WithinRel(9.0, 0.3));
}

TEST_CASE("Without degrees of freedom, a slow change of usual magnitude is assumed, in proportion to its possible effect") {
  const NoiseColour little = noise_colour({0.0, 0}, {0.0, 0}, 1);
  const NoiseColour more = noise_colour({0.0, 0}, {0.0, 0}, 100);
  CHECK(little.along > 0.1);
  CHECK_THAT(more.along / little.along, WithinRel(100.0, 1e-6));
}
