// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_problem.hpp"

#include "support/catch.hpp"
#include "support/gauge_example.hpp"

using namespace gauge_example;

TEST_CASE("The weights of the gauge's grid add up to one, and a large scatter has a smaller weight") {
  rig::Draw draw(7);
  const Example e = random_example(draw, 6);
  GaugeProblem problem(e.observations, e.signal, e.priors);
  double sum = 0;
  for (const auto& g : problem.on_grid()) sum += std::exp(g.log_weight);
  CHECK_THAT(sum, WithinAbs(1, 1e-12));
  CHECK(problem.log_gauge_prior(radians(0.8)) < problem.log_gauge_prior(radians(0.1)));
}

TEST_CASE("The repeatability of lowering is modelled only with repeats, and its weights add up to one") {
  rig::Draw draw(7);
  Example e = random_example(draw, 6);
  CHECK(GaugeProblem(e.observations, e.signal, e.priors).lowerings().size() == 1);
  e.observations[1].logged = e.observations[0].logged;
  e.signal.psi_rad[1] = e.signal.psi_rad[0];
  double sum = 0;
  const GaugeProblem problem(e.observations, e.signal, e.priors);
  for (const auto& r : problem.lowerings()) sum += std::exp(r.log_weight);
  CHECK_THAT(sum, WithinAbs(1, 1e-12));
  CHECK(problem.lowerings().size() == static_cast<std::size_t>(1 + kLoweringPoints));
}

TEST_CASE("A gauge in degrees has three priors of its scale, or one if the scale is stated, and user units have no such prior") {
  rig::Draw draw(7);
  Example e = random_example(draw, 6);
  e.priors.in_degrees = true;
  CHECK(GaugeProblem(e.observations, e.signal, e.priors).scale_priors().size() == 3);
  e.priors.scale_stated = true;
  CHECK(GaugeProblem(e.observations, e.signal, e.priors).scale_priors().size() == 1);
  e.priors.in_degrees = false;
  CHECK_FALSE(GaugeProblem(e.observations, e.signal, e.priors).scale_priors().front().prior);
}
