// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/truth.hpp"

#include <cmath>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::simulate;

TEST_CASE("The true tilts fulfil the definitions of their criteria") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const Scenario s = random_scenario(seed, 5.4);
    const SimulatedTruth truth = truth_of(s, seed);
    INFO("seed " << seed);
    const auto total = [&](double t) {
      const TrueLeaks x = true_leaks(t, s);
      return std::norm(x.right_into_left) + std::norm(x.left_into_right);
    };
    for (const double away : {-1.0, -0.1, -0.01, 0.01, 0.1, 1.0})
      CHECK(total(truth.least_crosstalk_deg) < total(truth.least_crosstalk_deg + away));
    if (truth.equal_crosstalk_deg) {
      const TrueLeaks x = true_leaks(*truth.equal_crosstalk_deg, s);
      CHECK_THAT(std::abs(x.right_into_left) / std::abs(x.left_into_right), WithinAbs(1, 1e-9));
    }
    if (truth.phase_match_deg) {
      const TrueLeaks x = true_leaks(*truth.phase_match_deg, s);
      CHECK_THAT(std::arg(x.right_into_left / x.left_into_right), WithinAbs(0, 1e-9));
    }
  }
}

TEST_CASE("A generator with an error of 0.8° anticlockwise needs a tilt of 0.8° clockwise") {
  Scenario s = random_scenario(1, 5.4);
  s.cartridge = {};
  s.cartridge.generator_error_left_deg = s.cartridge.generator_error_right_deg = -0.8;
  s.record.cut_error_left_deg = s.record.cut_error_right_deg = 0;
  CHECK_THAT(truth_of(s, 1).least_crosstalk_deg, WithinAbs(0.8, 1e-6));
  s.gauge_zero_deg = 0.5;
  s.gauge_scale = 1.5;
  // true = 1.5·logged + 0.5
  CHECK_THAT(truth_of(s, 1).least_crosstalk_deg, WithinAbs(0.2, 1e-6));
  CHECK_THAT(truth_of(s, 1).steps[4].true_tilt_deg, WithinAbs(3.5, 1e-12));
}

TEST_CASE("The errors of the gauge have the stated spread, differ between steps, and are the same for the same seed") {
  Scenario s = random_scenario(1, 5.4);
  s.gauge_error_u_deg = 0.1;
  double squares = 0;
  for (std::uint64_t seed = 1; seed <= 400; ++seed) {
    const auto tilts = true_tilts_deg(s, seed);
    CHECK(tilts == true_tilts_deg(s, seed));
    for (std::size_t i = 0; i < 5; ++i) squares += std::pow(tilts[i] - s.steps[i].tilt_deg, 2);
  }
  // 2,000 squares determine their mean to 3.2 %; 4 times that is allowed.
  CHECK_THAT(squares / 2000, WithinRel(0.01, 0.13));
}
