// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_candidates.hpp"

#include "solve/gauge_accounts.hpp"
#include "support/catch.hpp"
#include "support/gauge_example.hpp"

using namespace gauge_example;

TEST_CASE("Sums of numbers that are given by logarithms are correct, even beyond the range of a double") {
  CHECK_THAT(log_sum({std::log(2.0), std::log(3.0)}), WithinAbs(std::log(5.0), 1e-15));
  CHECK_THAT(log_sum({-2000, -2000 + std::log(2.0)}), WithinAbs(-2000 + std::log(3.0), 1e-12));
  CHECK(log_sum({}) == -HUGE_VAL);
}

TEST_CASE("From six settings on, hypotheses with two wrong settings are considered") {
  rig::Draw draw(5);
  const Example few = random_example(draw, 5), more = random_example(draw, 6);
  const auto most_wrong = [](const Example& e) {
    GaugeProblem problem(e.observations, e.signal, e.priors);
    std::size_t most = 0;
    for (const TiltAccount& account : stated_accounts(problem, radians(0.5)).normalised()) most = std::max(most, account.wrong.size());
    return most;
  };
  CHECK(most_wrong(few) == 1);
  CHECK(most_wrong(more) == 2);
}
